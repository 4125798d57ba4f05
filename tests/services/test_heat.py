from dataclasses import replace
from datetime import date, timedelta

import pytest

from app.analysis.heat.heat_share import Attribution
from app.analysis.heat.observed_loss import Period
from app.domain.chemistry import Chemistry
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import HoursAt, PlaceDetails, Season
from app.domain.errors import NotFound
from app.services.entities import batteries, discharges, places
from app.services.entities.batteries import build_report
from app.services.example.demo import fill_with_demo
from app.services.reports import heat
from app.storage.database.engine import read_session
from tests.builders import NOW, battery_details, discharge_details, steady

TODAY = NOW.date()
SINCE = TODAY - timedelta(days=1461)


def battery_tested(store, losses=(0, 3, 6, 9), **changes):
    """A battery with a yearly test; losses are in Ah of 100."""
    about = {"in_service_since": SINCE} | changes
    battery = batteries.add_battery(store, battery_details(**about))
    for years_ago, lost in zip(range(len(losses) - 1, -1, -1), losses, strict=True):
        details = discharge_details(steady(hours=10 - lost / 10), days_ago=365 * years_ago + 10)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    return battery


def at(store, battery, *seasons, hours=()):
    place = places.add_place(store, PlaceDetails("locker", "", seasons, hours))
    places.move_battery(store, battery.id, place.id, SINCE)


def test_a_loss_that_the_model_expects_fits(store):
    battery = battery_tested(store)
    at(store, battery, Season(1, 12, 25.0, 25.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged.blame is Attribution.FITS
    assert report.factor.middle == pytest.approx(1.0)
    assert report.at_25_c.middle == pytest.approx(report.judged.expected.middle)
    assert report.due_to_heat == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)
    assert report.why_not == ""


def test_a_loss_far_beyond_the_model_has_another_cause(store):
    battery = battery_tested(store, losses=(0, 15, 30, 45))
    at(store, battery, Season(1, 12, 5.0, 15.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged.blame is Attribution.MORE
    assert report.judged.probability_more > 0.99
    assert report.due_to_heat == tuple(sorted(report.due_to_heat))
    assert report.due_to_heat[2] < 0, "cold spares a battery"
    assert any("outside 15 to 50 °C" in one.text for one in report.caveats)


def test_a_hot_place_explains_more_than_25_degrees(store):
    battery = battery_tested(store)
    at(store, battery, Season(1, 12, 25.0, 45.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged.expected.middle > report.at_25_c.middle
    low, middle, high = report.due_to_heat
    assert 0 < low < middle < high
    assert middle == pytest.approx(report.judged.expected.middle - report.at_25_c.middle)
    assert 1.2 < report.factor.low < report.factor.middle < report.factor.high
    assert "times as fast as at 25 °C" in report.words


def test_use_is_taken_from_the_owner_and_otherwise_said_to_be_unknown(store):
    idle, used = (
        battery_tested(store),
        battery_tested(store, name="Used", full_discharges_a_year=200),
    )
    for one in (idle, used):
        at(store, one, hours=(HoursAt(30.0, 8766.0),))
    reports = [heat.show_heat(store, one.id, TODAY).report for one in (idle, used)]
    assert reports[0].judged.expected.cycling == 0
    assert reports[1].judged.expected.cycling > 2
    assert [any(c.code == "no_use" for c in r.caveats) for r in reports] == [True, False]


def test_too_little_of_the_time_known_gives_no_verdict(store):
    battery = battery_tested(store)
    at(store, battery, Season(1, 4, 20.0, 30.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged is None
    assert "33 % is known" in report.why_not


def test_a_year_with_a_gap_is_said(store):
    battery = battery_tested(store)
    at(store, battery, Season(1, 10, 20.0, 30.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged is not None
    assert any(c.code == "gaps" for c in report.caveats)


def test_one_test_gives_no_rate_to_explain(store):
    battery = battery_tested(store, losses=(3,))
    at(store, battery, Season(1, 12, 20.0, 30.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged is None
    assert "This needs a rate of fade first" in report.why_not


def test_the_models_are_not_used_for_another_chemistry(store):
    battery = battery_tested(store, chemistry=Chemistry.AGM)
    at(store, battery, Season(1, 12, 20.0, 30.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.judged is None
    assert "lithium iron phosphate" in report.why_not


def test_an_unknown_first_day_is_said(store):
    battery = battery_tested(store, in_service_since=None)
    at(store, battery, Season(1, 12, 20.0, 30.0))
    report = heat.show_heat(store, battery.id, TODAY).report
    assert any(c.code == "age_unknown" for c in report.caveats)


def test_without_a_first_day_its_life_begins_with_what_is_first_known_of_it(store):
    """With its first test, where that was before it came to its first known place."""
    battery = battery_tested(store, in_service_since=None)
    place = places.add_place(store, PlaceDetails("locker", "", (Season(1, 12, 20.0, 30.0),), ()))
    places.move_battery(store, battery.id, place.id, TODAY - timedelta(days=365))
    with read_session(store.engine) as session:
        report = build_report(store, session, battery, TODAY)
        history = heat.history_of(session, report, TODAY)
    assert history.from_day == TODAY - timedelta(days=3 * 365 + 10)


def test_the_temperatures_of_the_tests_stand_in_with_a_warning(store):
    battery = batteries.add_battery(store, battery_details(in_service_since=SINCE))
    for days_ago, hours in ((1000, 10.0), (10, 9.4)):
        readings = steady(hours=hours)
        details = discharge_details(readings, days_ago=days_ago)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    report = heat.show_heat(store, battery.id, TODAY).report
    assert report.from_tests
    assert report.mean_c == pytest.approx(24.0)
    assert any(c.code == "tests_only" for c in report.caveats)


def test_an_interval_is_wider_than_the_normal_one_for_few_tests():
    few = Period(TODAY, TODAY, 5.0, 1.0, 4)
    assert few.half_width == pytest.approx(2.776, abs=1e-3)
    assert replace(few, degrees_of_freedom=float("inf")).half_width == pytest.approx(
        1.960, abs=1e-3
    )


def test_the_place_and_the_use_are_taken_into_account(store):
    """By hand: at 35 °C it ages 1.57 times as fast; 36 500 Ah a year are 365 times 100 Ah."""
    cool, hot = (battery_tested(store, losses=(0, 1)), battery_tested(store, losses=(0, 1)))
    used = battery_tested(store, losses=(0, 1), full_discharges_a_year=365)
    for one, celsius in ((cool, 25.0), (hot, 35.0)):
        at(store, one, Season(1, 12, celsius, celsius))
    seen = [batteries.show_battery(store, one.id, TODAY).report for one in (cool, hot, used)]
    assert [one.lives.pace for one in seen] == [pytest.approx(1), pytest.approx(1.566, 1e-3), None]
    assert seen[2].lives.full_cycles_a_year == 365
    assert seen[1].end_of_life.p50 < seen[0].end_of_life.p50
    assert seen[2].end_of_life.p50 < seen[0].end_of_life.p50
    words = [next(c.text for c in one.end_of_life.caveats if c.code == "belief") for one in seen]
    assert "The projection takes into account where the battery lives" in words[1]
    assert "The projection takes into account how the battery is used" in words[2]


def test_a_battery_that_is_none_has_no_heat(store):
    with pytest.raises(NotFound):
        heat.show_heat(store, 7, TODAY)


@pytest.mark.parametrize("month", [1, 4, 8, 11])
def test_the_demo_has_a_battery_whose_question_is_answered(store, month):
    today = date(2026, month, 15)
    fill_with_demo(store, today)
    kept = {one.details.name: one.id for one in batteries.kept_batteries(store)}
    report = heat.show_heat(store, kept["Marmot trailer box"], today).report
    assert report.judged.blame is Attribution.LESS
    assert "No sign of it" in report.judged.words
    faded = heat.show_heat(store, kept["Marmot galley bank"], today).report
    assert faded.judged.blame is Attribution.FITS
    assert faded.due_to_heat[0] > 1
    assert all(one.minor for one in faded.caveats), "its places are known and within the models"
