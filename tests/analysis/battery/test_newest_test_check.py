import math
from dataclasses import replace

import numpy as np
import pytest

from app.analysis.battery.newest_test_check import Alarm, Conditions, watch
from app.analysis.fade.change_point import rate_change
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind

NOISE = (0.2, -0.3, 0.4, -0.1, 0.3, -0.4, 0.1, -0.2, 0.3, -0.1, 0.2, -0.3, 0.1, 0.2)


def points(losses):
    return [
        TrendPoint(
            738_000.0 + 91 * i, 100 - loss + NOISE[i], 0.8, 0.5, EvidenceKind.MEASURED, i + 1, 1
        )
        for i, loss in enumerate(losses)
    ]


QUIET = [0.5 * i for i in range(12)]


def usual(count, **newest):
    made = {i + 1: Conditions(25.0, 9.0, True, 1) for i in range(count)}
    made[count] = Conditions(
        **({"temperature_c": 25.0, "current_a": 9.0, "rested": True, "meter_id": 1} | newest)
    )
    return made


def test_watching_begins_with_the_fourth_test():
    assert watch(points(QUIET[:3]), {}).alarm is Alarm.TOO_EARLY
    assert watch(points(QUIET[:4]), {}).alarm is Alarm.NONE


def test_a_quiet_record_raises_no_alarm():
    for count in range(4, 13):
        assert watch(points(QUIET[:count]), {}).alarm is Alarm.NONE


def test_a_low_test_is_named_with_its_chance():
    found = watch(points([*QUIET[:8], 9.0]), {})
    assert found.alarm is Alarm.LOW_TEST
    assert found.chance < 0.02


def test_a_doubled_rate_is_found():
    losses = [0.75 * i for i in range(9)] + [6 + 1.75 * i for i in range(1, 6)]
    found = watch(points(losses), {})
    assert found.alarm is Alarm.FASTER
    assert found.words.startswith("Falling faster ")


@pytest.mark.parametrize(
    ("newest", "words"),
    [
        ({"temperature_c": 12.0}, "colder: 12 °C instead of the usual 25 °C"),
        ({"current_a": 20.0}, "heavier: 20.0 A instead of the usual 9.0 A"),
        ({"rested": False}, "had not rested"),
        ({"meter_id": 2}, "A different meter"),
    ],
)
def test_the_innocent_explanations_come_first(newest, words):
    found = watch(points([*QUIET[:8], 9.0]), usual(9, **newest))
    assert words in " ".join(found.explanations)
    assert "rule that out first" in found.words


def test_without_an_innocent_explanation_another_test_is_asked_for():
    found = watch(points([*QUIET[:8], 9.0]), usual(9))
    assert found.explanations == ()
    assert found.words.endswith("Test once more.")


def test_left_out_tests_and_bounds_are_not_watched():
    low = points([*QUIET[:8], 9.0])
    assert watch([*low[:-1], replace(low[-1], left_out=True)], {}).alarm is Alarm.NONE
    assert watch([*low[:-1], replace(low[-1], kind=EvidenceKind.AT_LEAST)], {}).alarm is Alarm.NONE


def test_a_bend_needs_tests_on_both_sides():
    days = np.arange(6) * 91.0
    assert rate_change(days, 100 - days / 100, np.ones(6)) is None
    assert rate_change(np.zeros(9), np.full(9, 100.0), np.ones(9)) is None


def test_one_low_test_is_not_called_a_change_of_rate():
    for drop in (5.0, 8.0, 12.0):
        losses = [*QUIET[:11], QUIET[11] + drop]
        assert watch(points(losses), {}).alarm is Alarm.LOW_TEST


@pytest.mark.parametrize(
    ("meter", "alarm", "chance"), [(1, Alarm.LOW_TEST, 0.003), (2, Alarm.NONE, 0.083)]
)
def test_the_gain_of_a_new_meter_is_a_doubt_of_the_newest_test(meter, alarm, chance):
    # 3 Ah below a steady fade: with the old meter, sure within 0.5 Ah, that is low; a new one may
    # be off by 2 Ah of its own, and 3 / sqrt(0.5² + 2²) = 1.46 comes in 7 % of tests, somewhat
    # more as the fade is not known for sure.
    steady = [
        TrendPoint(
            738_000.0 + 91 * i, 100 - 0.5 * i, math.hypot(0.5, 2), 0.5, EvidenceKind.MEASURED, i, 1
        )
        for i in range(9)
    ]
    newest = replace(steady[-1], capacity_ah=93.0, meter_id=meter)
    found = watch([*steady[:-1], newest], {})
    assert found.alarm is alarm
    assert found.chance == pytest.approx(chance, abs=0.015)


def test_the_scatter_of_the_earlier_tests_is_a_doubt_of_the_newest():
    # Up and down by 1.5 Ah where 0.3 Ah was stated: each is 3 Ah off its neighbours' middle, which
    # is 1.4826 × 3 / sqrt(1.5) = 3.63 Ah, half believed with eight tests (6 / (6 + 6) of the
    # variance): 2.57 Ah. 5 Ah below the fade are then 1.95 deviations, 2.6 % of tests, and more as
    # the fade is not known for sure. By the 0.3 Ah alone it would be an alarm.
    loud = [
        TrendPoint(
            738_000 + 91 * i,
            100 - 0.75 * i + 1.5 * (-1) ** i,
            0.3,
            0.3,
            EvidenceKind.MEASURED,
            i,
            1,
        )
        for i in range(9)
    ]
    found = watch([*loud[:-1], replace(loud[-1], capacity_ah=94.0 - 5.0)], {})
    assert found.alarm is Alarm.NONE
    assert 0.026 < found.chance < 0.06


def test_another_meter_within_its_limits_raises_no_alarm():
    quiet = points(QUIET)
    gained = [
        replace(
            p,
            capacity_ah=p.capacity_ah * (0.98 if i >= 8 else 1.0),
            standard_ah=2.0,
            meter_id=1 + (i >= 8),
        )
        for i, p in enumerate(quiet)
    ]
    shared = [replace(p, standard_ah=2.0) for p in gained]
    for count in range(9, 13):
        assert watch(shared[:count], {}).alarm is Alarm.NONE


@pytest.mark.parametrize(
    ("not_rested", "named"), [((), True), ((1, 4, 5), True), ((6,), False), ((8,), False)]
)
def test_a_short_rest_explains_a_low_test_where_the_three_before_had_rested(not_rested, named):
    """Tests 6, 7 and 8 come before the newest, the ninth: what was usual long ago is not."""
    known = usual(9, rested=False)
    known |= {number: replace(known[number], rested=False) for number in not_rested}
    found = watch(points([*QUIET[:8], 9.0]), known)
    assert any("had not rested" in one for one in found.explanations) is named


def test_a_doubled_rate_is_said_in_amp_hours_a_year():
    """0.75 and then 1.75 Ah a quarter (91 days): 3.01 and 7.02 Ah a year."""
    losses = [0.75 * i for i in range(9)] + [6 + 1.75 * i for i in range(1, 6)]
    exact = [
        replace(point, capacity_ah=100 - loss)
        for point, loss in zip(points(losses), losses, strict=True)
    ]
    found = watch(exact, {})
    assert "Falling faster lately: 7.0 Ah a year; 9 in 10: " in found.words
    assert found.late.ah_a_year == pytest.approx(7.02, abs=0.01)
    assert found.beside_answers == "Falling faster lately."
    assert "over the last 5 tests. Before, it lost 3.0 Ah a year; 9 in 10: " in found.rates


@pytest.mark.parametrize(
    ("projected", "said"),
    [
        (None, "The next test tells more."),
        (7.0, "The date allows for it. The next test tells more."),
        (
            3.0,
            "The date assumes less and may come sooner. The next test tells more.",
        ),
    ],
)
def test_a_faster_fade_says_whether_the_projected_date_reckons_with_it(projected, said):
    losses = [0.75 * i for i in range(9)] + [6 + 1.75 * i for i in range(1, 6)]
    found = watch(points(losses), {}, projected_loss=projected)
    assert found.words.endswith(f". {said}")
    assert ("The date " in found.words) is (projected is not None)
