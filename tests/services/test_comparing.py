from datetime import date, timedelta

import pytest

from app.domain.entities.discharge import EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails
from app.domain.errors import InvalidInput
from app.services.entities import batteries, discharges, events, places
from app.services.example.demo import fill_with_demo
from app.services.reports.comparison import ComparisonWish, compare, recorded_moves
from tests.builders import NOW, battery_details, discharge_details, fill_place, steady

TODAY = NOW.date()


def add(store, name, hours, every_days=91, end=EndReason.PROTECTION):
    battery = batteries.add_battery(store, battery_details(name=name, test_interval_days=91))
    for i, lasted in enumerate(hours):
        details = discharge_details(
            steady(lasted, step_h=0.25, last_v=10.0 if end is EndReason.PROTECTION else 12.6),
            days_ago=10 + every_days * (len(hours) - 1 - i),
            end_reason=end,
        )
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    return battery.id


@pytest.fixture
def two(store):
    hot = add(store, "Hot", [11.5 - 0.25 * i for i in range(6)])
    return hot, add(store, "Cool", [11.5 - 0.05 * i for i in range(6)])


def refusal(store, *ids, **wish):
    with pytest.raises(InvalidInput) as caught:
        compare(store, ComparisonWish(ids, **wish), TODAY)
    return caught.value.problems[0]


def test_an_unknown_battery_that_is_asked_for_twice_is_named_by_its_number(store, two):
    assert refusal(store, 99, two[0], 99).value == "number 99 more than once"


def test_two_batteries_are_compared_in_the_order_asked_for(store, two):
    hot, cool = two
    report = compare(store, ComparisonWish((cool, hot)), TODAY)
    assert [side.name for side in report.sides] == ["Cool", "Hot"]
    assert report.pairs[0].difference.points_per_year < 0
    assert report.pairs[0].difference.probability_faster < 0.01
    assert [axis.label for axis in report.axes] == ["age"]


def test_a_battery_is_compared_around_a_move(store, two):
    moved_on = TODAY - timedelta(days=230)
    report = compare(store, ComparisonWish(two[:1], moved_on), TODAY)
    assert report.moved_on == moved_on
    assert [side.measured for side in report.sides] == [3, 3]
    assert [curve.name for curve in report.curves] == ["before the move", "after the move"]
    assert report.curves[0].on_date < moved_on < report.curves[1].on_date


def test_a_test_on_the_day_of_the_move_counts_as_before_it(store, two):
    third = batteries.show_battery(store, two[0], TODAY).report.tests[2].started_at.date()
    report = compare(store, ComparisonWish(two[:1], third), TODAY)
    assert [side.measured for side in report.sides] == [3, 3]


def test_use_and_temperature_history_add_axes_where_they_are_known(store, two):
    details = battery_details(name="Hot", full_discharges_a_year=40.0)
    batteries.change_battery(store, two[0], details, NOW)
    fill_place(store, two[1])
    report = compare(store, ComparisonWish(two), TODAY)
    assert [axis.label for axis in report.axes] == ["age", "throughput", "equivalent age"]
    assert set(report.axes[1].x[1]) == {None}
    assert set(report.axes[2].x[0]) == {None}


def test_curves_are_on_scales_that_sizes_share(store, two):
    curves = compare(store, ComparisonWish(two), TODAY).curves
    assert [curve.alike for curve in curves] == [True, True]
    assert curves[0].charge_percent[-1] == pytest.approx(92.25, abs=0.5)
    assert curves[0].cell_v[0] == pytest.approx(3.3)
    assert curves[0].c_rate == pytest.approx(0.09, abs=0.001)


def test_a_curve_under_a_like_load_goes_before_a_newer_one(store, two):
    details = discharge_details(steady(5.0, 18.0, step_h=0.25), days_ago=2)
    newest = discharges.add_discharge(store, two[1], details, MeterKind.SHUNT, NOW)
    curves = compare(store, ComparisonWish(two), TODAY).curves
    assert curves[1].on_date < newest.details.started_local.date()
    alone = compare(store, ComparisonWish(two[::-1]), TODAY).curves
    assert alone[0].on_date == newest.details.started_local.date()
    assert not alone[1].alike


def test_each_battery_s_own_interval_counts_for_further_tests(store, two):
    wish = ComparisonWish(two, shown_points=0.5)
    before = compare(store, wish, TODAY).pairs[0].further
    for number in two:
        details = battery_details(name=f"Rare {number}", test_interval_days=365)
        batteries.change_battery(store, number, details, NOW)
    assert compare(store, wish, TODAY).pairs[0].further < before


def test_what_lies_in_the_bin_is_not_compared(store, two):
    batteries.bin_battery(store, two[1], NOW)
    assert refusal(store, *two).field == "battery"


def test_a_battery_twice_is_refused_by_name(store, two):
    problem = refusal(store, two[0], two[1], two[0])
    assert problem.sentence == (
        "Please check “batteries to compare”: “Hot more than once” does not fit. "
        "It needs each battery once."
    )


def test_an_unknown_battery_is_refused_with_the_known_ones(store, two):
    assert refusal(store, two[0], 99).sentence == (
        "Please check “batteries to compare”: “99” does not fit. "
        "It needs numbers of your batteries: 1, 2."
    )


@pytest.mark.parametrize("count", [0, 1, 7])
def test_too_few_or_too_many_are_refused(store, count):
    ids = [batteries.add_battery(store, battery_details(name=f"B{i}")).id for i in range(count)]
    problem = refusal(store, *ids)
    assert problem.sentence == (
        f"Please check “batteries to compare”: “{count}” does not fit. It needs 2 to 6 batteries, "
        "or one with the date of a move."
    )


def test_a_move_goes_with_one_battery_only(store, two):
    assert refusal(store, *two, moved_on=TODAY).field == "moved_on"


def test_a_move_outside_the_tests_says_what_is_missing_and_which_dates_would_do(store, two):
    late = refusal(store, two[0], moved_on=TODAY).sentence
    assert "6 measured before it and 0 after" in late
    assert "(needed: 2 more after it)" in late
    assert "16 Nov 2025 to 15 Aug 2026 would do" in late
    early = refusal(store, two[0], moved_on=date(2020, 1, 1)).sentence
    assert "(needed: 2 more before it)" in early


def test_the_dates_that_would_do_do(store, two):
    for text in ("2025-11-16", "2026-08-15"):
        compare(store, ComparisonWish(two[:1], date.fromisoformat(text)), TODAY)
    for text in ("2025-11-15", "2026-08-16"):
        assert refusal(store, two[0], moved_on=date.fromisoformat(text))


def test_a_battery_with_three_tests_has_no_date_that_would_do(store):
    short = add(store, "Short", [11, 10.9, 10.8])
    assert "no date would do yet" in refusal(store, short, moved_on=TODAY).sentence


def test_lower_bounds_alone_are_said_and_not_refused(store, two):
    bounds = add(store, "Stopped", [8, 7.5, 7], end=EndReason.TIME)
    report = compare(store, ComparisonWish((two[0], bounds)), TODAY)
    assert "Only lower bounds so far" in report.words[0]


def test_moves_are_listed_and_other_events_are_not(store, two):
    events.add_event(store, two[0], date(2026, 2, 1), EventKind.MOVED, "to the roof")
    events.add_event(store, two[0], date(2026, 3, 1), EventKind.REPAIR, "")
    (move,) = recorded_moves(store)
    assert (move.battery_name, move.on_date, move.note) == ("Hot", date(2026, 2, 1), "to the roof")


def test_a_stay_after_the_first_is_a_move_too(store, two):
    fill_place(store, two[0])
    assert recorded_moves(store) == ()
    roof = places.add_place(store, PlaceDetails("roof"))
    places.move_battery(store, two[0], roof.id, date(2026, 3, 1))
    (move,) = recorded_moves(store)
    assert (move.on_date, move.note) == (date(2026, 3, 1), "to roof")


def test_the_demo_has_something_to_compare(store):
    fill_with_demo(store, TODAY)
    kept = {one.details.name: one.id for one in batteries.kept_batteries(store)}
    wish = ComparisonWish((kept["Marmot galley bank"], kept["Marmot trailer box"]))
    assert compare(store, wish, TODAY).pairs[0].difference.proven
    (move,) = recorded_moves(store)
    moved = compare(store, ComparisonWish((move.battery_id,), move.on_date), TODAY)
    assert moved.pairs[0].difference is not None
