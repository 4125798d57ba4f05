"""The four answers: each figure with its doubt, and never more than the tests prove."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from app.analysis.battery.answers import down_to, holds, loses, main_findings, next_due
from app.analysis.battery.battery_report import battery_report
from app.analysis.battery.newest_test_check import LateRate
from app.analysis.battery.next_test import NextTest, TestReason
from app.analysis.evidence.result import analyse_test
from app.analysis.projection.projection import ProjectionOutcome
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge, EndReason
from app.domain.readings import Readings
from tests.builders import NOW, battery_details, discharge_details, steady

TODAY = NOW.date()


def yearly(*amps, **changes):
    """Tests a year apart, the last ten days ago."""
    ages = range(10 + 365 * (len(amps) - 1), 0, -365)
    return [
        discharge_details(steady(amps=one, step_h=0.1), days_ago=age, **changes)
        for one, age in zip(amps, ages, strict=True)
    ]


def stopped(amps, days_ago):
    """Ended by the clock, far from empty."""
    readings = steady(amps=amps, last_v=12.9)
    return discharge_details(readings, days_ago=days_ago, end_reason=EndReason.TIME)


def report_of(tests):
    """The report of a battery of 100 Ah with these tests."""
    battery = Battery(1, battery_details(), 1)
    pairs = [
        (Discharge(number, 1, details, 1), analyse_test(details, battery.details, None))
        for number, details in enumerate(tests, start=1)
    ]
    return battery_report(battery, pairs, [], TODAY)


def said(answer):
    return " | ".join(
        one for one in (answer.label, answer.figure, answer.doubt, answer.note) if one
    )


def interval(answer):
    """The ends of what is very likely."""
    return tuple(float(one) for one in answer.doubt.removeprefix("very likely ").split(" to "))


def test_without_a_test_nothing_is_known_and_the_first_is_due():
    answers = report_of([]).answers
    assert [one.figure for one in answers] == ["not known", "not known", "not known", "due now"]
    assert "the label promises 100 Ah" in answers[0].doubt
    assert answers[3].doubt == "the first one"


def test_a_measured_capacity_has_its_uncertainty_its_day_and_its_share():
    answer = report_of(yearly(9.0)).answers[0]
    assert (answer.label, answer.figure) == ("Holds now", "90.0 Ah")
    low, high = interval(answer)
    half = report_of(yearly(9.0)).tests[0].expanded_ah
    assert (low, high) == pytest.approx((90 - half, 90 + half), abs=0.06)
    assert answer.note == "tested 15 Nov 2026: 90 %"


def swinging(mean_a, days_ago, hours=10):
    """A load that goes to and fro between hourly readings, down to empty."""
    amps = [mean_a * (1.6 if row % 3 == 0 else 0.7) for row in range(hours + 1)]
    volts = [13.2] * hours + [9.9]
    readings = Readings.of([3600.0 * row for row in range(hours + 1)], amps, volts)
    return discharge_details(readings, days_ago=days_ago)


def test_all_tests_together_stand_beside_a_newest_test_that_differs_within_its_doubt():
    tests = [*yearly(10.0, 9.8, 9.6, 9.4)[:-1], swinging(9.9, 10)]
    report = report_of(tests)
    answer, newest = report.answers[0], report.tests[-1]
    line_ah = report.fade.line.at(report.fade.last_day - report.fade.first_day)
    assert 3.0 < abs(newest.capacity_ah - line_ah) < newest.expanded_ah
    assert answer.label == "Newest test"
    found = re.search(r"together: ([\d.]+) Ah that day, very likely ([\d.]+) to", answer.note)
    assert float(found[1]) == pytest.approx(line_ah, abs=0.06)
    assert float(found[2]) < line_ah
    # A line does not speak for a test beyond its own doubt, nor beside one that lies on it.
    for amps in ((10.0, 9.8, 9.6, 9.4), (10.0, 9.9, 9.8, 9.7, 8.5)):
        assert "together" not in report_of(yearly(*amps)).answers[0].note


def test_one_measured_test_gives_no_rate():
    answer = report_of(yearly(9.0)).answers[1]
    assert (answer.figure, answer.doubt) == (
        "not known",
        "One measured test: a rate needs at least two.",
    )


def test_an_old_result_is_not_what_it_holds_now():
    old = report_of([discharge_details(days_ago=184)]).answers[0]
    assert old.label == "Last known capacity"
    assert report_of([discharge_details(days_ago=183)]).answers[0].label == "Holds now"


def test_lower_bounds_alone_give_a_bound_and_nothing_else():
    answers = report_of([stopped(5, 400), stopped(6, 10)]).answers
    assert answers[0].figure.startswith("at least 5")
    assert "cannot say how much more" in answers[0].doubt
    assert [one.figure for one in answers[1:3]] == ["not known", "not known"]
    assert "lower bounds" in answers[1].doubt


def test_a_newer_bound_is_told_only_where_it_proves_more_than_was_measured():
    low, high = stopped(5, 10), stopped(9.9, 10)
    measured = discharge_details(days_ago=100)
    assert report_of([measured, low]).answers[0].figure == "90.0 Ah"
    assert report_of([measured, high]).answers[0].figure.startswith("at least 9")


def test_what_was_left_out_does_not_count():
    first, last = yearly(9.5, 6.0)
    report = report_of([first, replace(last, left_out_reason="a load nobody saw")])
    assert holds(report.tests, 100.0, TODAY).figure == "95.0 Ah"
    alone = report_of([replace(first, left_out_reason="a load nobody saw")])
    assert said(alone.answers[0]).endswith("No test counts so far.")


def test_a_proven_loss_is_in_amp_hours_with_its_interval():
    answer = report_of(yearly(9.8, 9.5, 9.2, 8.9, 8.6)).answers[1]
    assert said(answer).startswith("Loses | 3.0 Ah a year | very likely 2.")
    assert answer.note == "average since Nov 2022"


def test_an_average_is_not_taken_for_the_rate_of_today_where_the_newest_tests_fall_faster():
    report = report_of(yearly(9.8, 9.5, 9.2, 8.9, 8.6))
    answer = loses(report.fade, LateRate(5.2, 4.1, 6.3))
    assert said(answer).startswith("Loses lately | 5.2 Ah a year | 9 in 10: 4.1 to 6.3")
    assert answer.note == "average since Nov 2022: 3.0"


def test_a_battery_that_falls_faster_answers_with_the_rate_of_late_and_says_it_once():
    # 1 Ah a year in six tests, then 4 Ah a year in five.
    report = report_of(yearly(9.8, 9.7, 9.6, 9.5, 9.4, 9.3, 8.9, 8.5, 8.1, 7.7, 7.3))
    assert report.faster
    late = report.watch.late
    assert late.low < 4.0 < late.high
    answer = report.answers[1]
    assert (answer.label, answer.figure) == ("Loses lately", f"{late.ah_a_year:.1f} Ah a year")
    assert report.watch.words.startswith(f"Falling faster lately: {late.ah_a_year:.1f} Ah a year")
    assert report.watch.beside_answers == "Falling faster lately."


def test_a_loss_that_is_not_proven_has_no_large_figure():
    answer = report_of(yearly(9.0, 9.01, 9.0, 9.02, 9.0)).answers[1]
    assert answer.figure == "no loss proven"
    assert answer.doubt.startswith("0.0 Ah a year; very likely −")


def test_a_capacity_that_seems_to_rise_is_the_first_thing_to_mind():
    report = report_of(yearly(8.0, 8.5, 9.0, 9.5))
    answer = report.answers[1]
    assert (answer.label, answer.figure) == ("Seems to gain", "5.0 Ah a year")
    low, high = interval(answer)
    assert low < 5 < high
    assert report.findings[0].code == "contradict"


ENDS = [
    ({}, "late 2030", "very likely not before Mar 2027, nor after mid 2036"),
    ({"p95": None}, "late 2030", "very likely not before Mar 2027; latest not known"),
    (
        {"p05": TODAY + timedelta(days=1)},
        "late 2030",
        "very likely not before this month, nor after mid 2036",
    ),
    (
        {"p05": TODAY, "chance_above_today": 0.92},
        "late 2030",
        "below it today: 8 % likely; very likely not after mid 2036",
    ),
    (
        {"p05": TODAY - timedelta(days=60), "p95": None, "chance_above_today": 0.75},
        "late 2030",
        "below it today: 25 % likely; latest not known",
    ),
    (
        {"p05": TODAY, "p50": None, "p95": None, "chance_above_today": 0.9},
        "not known",
        "below it today: 10 % likely",
    ),
    ({"p95": None, "p50": None}, "not before Mar 2027", "very likely; how much later is not known"),
    (
        {"p95": None, "p50": None, "p05": None},
        "in over 30 years",
        "very likely; counted from the first test",
    ),
    (
        {"outcome": ProjectionOutcome.ALREADY_BELOW, "chance_above_today": 0.3},
        "probably already",
        "below it today: 70 % likely",
    ),
    (
        {"outcome": ProjectionOutcome.ALREADY_BELOW, "chance_above_today": 0.0},
        "probably already",
        "below it today: more than 99 % likely",
    ),
    ({"outcome": ProjectionOutcome.NOT_YET_KNOWN}, "not known", "This needs a measured capacity."),
]


@pytest.mark.parametrize(("changes", "figure", "doubt"), ENDS)
def test_the_end_has_its_middle_and_its_interval(changes, figure, doubt):
    end = replace(
        report_of(yearly(9.4, 9.2, 9.0)).end_of_life,
        **{
            "outcome": ProjectionOutcome.PROJECTED,
            "p05": date(2027, 3, 3),
            "p50": date(2030, 10, 1),
            "p95": date(2036, 6, 1),
        }
        | changes,
    )
    answer = down_to(end, 100.0, TODAY)
    assert (answer.label, answer.figure, answer.doubt) == ("Down to your limit", figure, doubt)
    assert not answer.note
    for_others = down_to(end, 100.0, TODAY, own=False)
    assert (for_others.label, for_others.note) == (
        "Down to the owner’s limit",
        "80 Ah (80 %)",
    )


@pytest.mark.parametrize("days", [1, 20, 365])
def test_where_two_tests_contradict_each_other_the_end_waits(days):
    """50 Ah and then 90 Ah: nothing says which of them to believe."""
    report = report_of(
        [
            discharge_details(steady(amps=amps, step_h=0.1), days_ago=ago)
            for amps, ago in ((5.0, 10 + days), (9.0, 10))
        ]
    )
    answer = report.answers[2]
    assert (answer.figure, answer.doubt, answer.now) == (
        "waits for a test",
        "the tests contradict each other",
        False,
    )
    assert report.findings[0].code == "contradict"
    assert "likely" not in report.end_of_life.words


def test_one_test_that_contradicts_the_others_is_named_and_the_end_stands():
    report = report_of(yearly(5.0, 9.0, 8.9))
    (found,) = [one for one in report.findings if one.code == "contradicts_others"]
    assert found.discharge_ids == (1,)
    assert "very likely" in report.answers[2].doubt


def test_tests_that_scatter_as_careful_ones_do_contradict_nothing():
    for amps in ((8.8, 9.0), (9.0, 8.8, 9.0, 8.9)):
        codes = {one.code for one in report_of(yearly(*amps)).findings}
        assert not codes & {"contradict", "contradicts_others"}


def test_the_next_test_says_since_when_and_what_for():
    reasons = (TestReason("owner", date(2026, 11, 1), "you test it every 91 days"),)
    late = next_due(NextTest(date(2026, 11, 1), "", None, reasons), TODAY)
    assert said(late) == "Next test | due now | since 1 Nov 2026 | by your interval"
    assert late.now
    soon = next_due(NextTest(date(2026, 12, 1), "", None, reasons), TODAY)
    assert said(soon) == "Next test | 1 Dec 2026 | by your interval"
    assert not soon.now
    assert next_due(NextTest(None, "", None, ()), TODAY, running=True).figure == "running"


def test_every_reason_for_a_test_has_its_words():
    for code in ("owner", "rule", "decision", "visible", "warranty"):
        reasons = (TestReason(code, date(2026, 12, 1), ""),)
        assert next_due(NextTest(date(2026, 12, 1), "", None, reasons), TODAY).doubt


def test_minor_findings_stay_with_the_reasons():
    report = report_of(yearly(9.4, 9.2))
    found = main_findings(report.fade, report.end_of_life)
    assert "two_tests" in [one.code for one in found]
    assert not any(one.minor for one in found)
    assert loses(report.fade).label == "Loses"
