from datetime import timedelta

import pytest

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails, RunState
from app.domain.errors import InvalidInput, NotFound
from app.domain.finding import EvidenceKind
from app.services.entities import batteries, discharges, runs
from tests.builders import NOW, battery_details, discharge_details

TEN_HOURS_AGO = NOW - timedelta(hours=10)


def hour(h, amps=9.0, volts=None, **more):
    volts = round(13.2 - 0.06 * h, 2) if volts is None else volts
    return ReadingGiven(TEN_HOURS_AGO + timedelta(hours=h), amps, volts, **more)


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


@pytest.fixture
def run(store, battery):
    details = RunDetails(TEN_HOURS_AGO, 60, ChargeCondition.FULL_RESTED, 0, "lamps")
    return runs.start_run(store, battery.id, details, MeterKind.SHUNT, TEN_HOURS_AGO)


def note(store, run, *given, now=NOW):
    return [runs.note_reading(store, run.id, one, now) for one in given]


def codes(store, run, now=NOW):
    return {warning.code for warning in runs.show_run(store, run.id, now).report.warnings}


def test_one_battery_runs_one_test_at_a_time(store, battery, run):
    with pytest.raises(InvalidInput, match="End the running test first"):
        runs.start_run(store, battery.id, run.details, MeterKind.SHUNT, NOW)


def test_the_charge_grows_and_the_end_comes_nearer(store, run):
    note(store, run, hour(0), hour(1), hour(2))
    early = runs.show_run(store, run.id, TEN_HOURS_AGO + timedelta(hours=2)).report
    assert early.counted_ah == pytest.approx(18)
    note(store, run, hour(3), hour(4), hour(5))
    late = runs.show_run(store, run.id, TEN_HOURS_AGO + timedelta(hours=5)).report
    assert late.counted_ah == pytest.approx(45)
    assert early.early_end < early.middle_end < early.late_end
    assert late.late_end - late.early_end <= early.late_end - early.early_end
    assert late.next_due_at == TEN_HOURS_AGO + timedelta(hours=6)


def test_the_result_equals_that_of_the_same_readings_typed_in(store, battery, run):
    note(store, run, *(hour(h) for h in range(10)), hour(9.7, volts=10.3))
    test = runs.end_run(store, run.id, EndReason.PROTECTION, None)
    view = runs.show_run(store, run.id, NOW)
    assert (view.run.state, view.run.discharge_id) == (RunState.FINISHED, test.id)
    other = batteries.add_battery(store, battery_details())
    typed = discharge_details(test.details.readings, started_at=TEN_HOURS_AGO)
    typed = discharges.add_discharge(store, other.id, typed, MeterKind.SHUNT, NOW)
    one = discharges.show_discharge(store, test.id).report
    two = discharges.show_discharge(store, typed.id).report
    assert one.kind is EvidenceKind.MEASURED
    assert (one.capacity_ah, one.expanded_ah) == (two.capacity_ah, two.expanded_ah)


def test_the_same_reading_twice_is_stored_once(store, run):
    fed = note(store, run, hour(0), hour(0))
    assert [(one.stored, one.known) for one in fed] == [(1, 0), (0, 1)]


def test_another_value_at_the_same_moment_is_refused(store, run):
    note(store, run, hour(0))
    with pytest.raises(InvalidInput, match="correct it instead"):
        note(store, run, hour(0, amps=12))


def test_a_late_reading_takes_its_own_place(store, run):
    note(store, run, hour(0), hour(2), hour(1, amps=12))
    report = runs.show_run(store, run.id, NOW).report
    assert report.hours == (0, 1, 2)
    assert report.counted_ah == pytest.approx(21)


def test_a_correction_keeps_what_was_there(store, run):
    note(store, run, hour(0), hour(1, amps=90))
    wrong = runs.show_run(store, run.id, NOW).readings[1]
    runs.correct_reading(store, run.id, wrong.id, hour(1), NOW)
    view = runs.show_run(store, run.id, NOW)
    assert view.report.counted_ah == pytest.approx(9)
    assert view.readings[1].version == 2
    with store.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT thing, thing_id FROM revision").all()
    assert kept == [("run_reading", wrong.id)]


def test_a_struck_reading_does_not_count_until_it_is_taken_back(store, run):
    note(store, run, hour(0), hour(1), hour(2, amps=30))
    odd = runs.show_run(store, run.id, NOW).readings[2]
    runs.strike_reading(store, run.id, odd.id, "misread", NOW)
    view = runs.show_run(store, run.id, NOW)
    assert view.report.counted_ah == pytest.approx(9)
    assert view.readings[2].struck_reason == "misread"
    runs.strike_reading(store, run.id, odd.id, "", NOW)
    assert runs.show_run(store, run.id, NOW).report.counted_ah > 20


@pytest.mark.parametrize("hours", [-1, 11])
def test_readings_from_before_the_start_or_the_future_are_refused(store, run, hours):
    with pytest.raises(InvalidInput, match=r"time of the reading”: “\d+ \w+ \d{4}, \d\d:\d\d”"):
        note(store, run, hour(hours))


def test_an_ended_run_takes_nothing_more(store, run):
    note(store, run, hour(0), hour(1))
    runs.abandon_run(store, run.id)
    assert len(runs.show_run(store, run.id, NOW).readings) == 2
    for act in (
        lambda: note(store, run, hour(2)),
        lambda: runs.end_run(store, run.id, EndReason.TIME, None),
        lambda: runs.open_feed(store, run.id),
    ):
        with pytest.raises(InvalidInput, match="given up"):
            act()


def test_a_run_without_two_readings_cannot_end_and_runs_on(store, run):
    note(store, run, hour(0))
    with pytest.raises(InvalidInput, match="at least two readings"):
        runs.end_run(store, run.id, EndReason.PROTECTION, None)
    assert runs.show_run(store, run.id, NOW).run.state is RunState.RUNNING


def test_a_feed_writes_with_its_word_and_only_while_it_is_open(store, run):
    word = runs.open_feed(store, run.id)
    fed = runs.feed_readings(store, run.id, word, [hour(2), hour(0), hour(1), hour(1)], NOW)
    assert (fed.stored, fed.known) == (3, 1)
    again = runs.feed_readings(store, run.id, word, [hour(0), hour(1)], NOW)
    assert (again.stored, again.known) == (0, 2)
    for wrong in ("", "guess", word + "x"):
        with pytest.raises(NotFound):
            runs.feed_readings(store, run.id, wrong, [hour(3)], NOW)
    runs.close_feed(store, run.id)
    with pytest.raises(NotFound):
        runs.feed_readings(store, run.id, word, [hour(3)], NOW)


def test_a_new_word_closes_the_one_before(store, run):
    first, second = runs.open_feed(store, run.id), runs.open_feed(store, run.id)
    with pytest.raises(NotFound):
        runs.feed_readings(store, run.id, first, [hour(0)], NOW)
    assert runs.feed_readings(store, run.id, second, [hour(0)], NOW).stored == 1


def test_a_word_opens_its_own_run_only(store, run):
    word = runs.open_feed(store, run.id)
    other = batteries.add_battery(store, battery_details())
    second = runs.start_run(store, other.id, run.details, MeterKind.SHUNT, NOW)
    with pytest.raises(NotFound):
        runs.feed_readings(store, second.id, word, [hour(0)], NOW)


def test_a_feed_s_batch_is_stored_whole_or_not_at_all(store, run):
    word = runs.open_feed(store, run.id)
    with pytest.raises(InvalidInput):
        runs.feed_readings(store, run.id, word, [hour(0), hour(99)], NOW)
    assert runs.show_run(store, run.id, NOW).readings == ()


def test_a_test_takes_the_most_readings_and_not_one_more(store, run, monkeypatch):
    monkeypatch.setattr(runs, "MAX_READINGS", 4)
    word = runs.open_feed(store, run.id)
    note(store, run, hour(0), hour(1))
    assert runs.feed_readings(store, run.id, word, [hour(2), hour(3)], NOW).stored == 2
    for readings in ([hour(4)], [hour(3), hour(4)]):
        with pytest.raises(InvalidInput, match="at most 4 a test") as refused:
            runs.feed_readings(store, run.id, word, readings, NOW)
        assert "5" in str(refused.value)
    # What is there already is no reading more.
    assert runs.feed_readings(store, run.id, word, [hour(2), hour(3)], NOW).known == 2
    assert len(runs.show_run(store, run.id, NOW).readings) == 4


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ([hour(0), hour(1, amps=12)], "drift"),
        ([hour(0), hour(1, amps=0.0), hour(2)], "cycling"),
        ([hour(0), hour(1, amps=0.0)], "load_off"),
        ([hour(0), hour(1), hour(2, amps=40)], "odd_current"),
        ([hour(0), hour(1, volts=12.1)], "near_empty"),
        ([hour(0, volts=12.9), hour(1, volts=13.2)], "odd_voltage"),
        ([hour(0), hour(1, temperature_c=50.0)], "temperature"),
    ],
)
def test_what_goes_wrong_is_said_as_it_happens(store, run, given, code):
    note(store, run, *given)
    assert code in codes(store, run, given[-1].at)


def test_a_reading_that_was_missed_is_said(store, run):
    note(store, run, hour(0))
    assert "missed" not in codes(store, run, TEN_HOURS_AGO + timedelta(minutes=61))
    assert "missed" in codes(store, run, TEN_HOURS_AGO + timedelta(minutes=90))


def test_a_quiet_run_has_nothing_to_say(store, run):
    note(store, run, hour(0), hour(1), hour(2))
    assert codes(store, run, TEN_HOURS_AGO + timedelta(hours=2)) == set()


def test_a_load_that_changed_is_said_from_the_first_reading_to_the_newest(store, run):
    note(store, run, hour(0, amps=12.0), hour(1, amps=10.5), hour(2, amps=9.0))
    warnings = runs.show_run(store, run.id, TEN_HOURS_AGO + timedelta(hours=2)).report.warnings
    (drift,) = [warning.text for warning in warnings if warning.code == "drift"]
    assert drift == "The current went from 12 A to 9 A."


def test_of_the_readings_only_those_that_were_changed_have_earlier_values(store, run):
    note(store, run, hour(0), hour(1, amps=90.0))
    first, second = runs.show_run(store, run.id, NOW).readings
    runs.correct_reading(store, run.id, second.id, hour(1), NOW)
    view = runs.show_run(store, run.id, NOW)
    assert {one.id for one in view.readings} == {first.id, second.id}
    assert [one.id for one in view.changed] == [second.id]
