import math

import numpy as np
import pytest

from app.analysis.counting.sampling import sampling, turns_to_and_fro

HOURS = np.arange(11.0)


def amps(*values):
    return np.array(values, dtype=float)


@pytest.mark.parametrize(
    ("load", "turns"),
    [
        ((9, 9, 9, 9), False),
        # A step and a drift do not come back.
        ((9, 9, 4, 4), False),
        ((10, 9, 8, 7), False),
        # Less than 10 % of the mean on each side.
        ((9.5, 10.5, 9.5, 10.5), False),
        ((8.5, 11.5, 8.5, 11.5), True),
        ((3, 3, 9, 3), True),
    ],
)
def test_a_load_turns_to_and_fro_when_it_passes_its_mean_and_comes_back(load, turns):
    assert turns_to_and_fro(amps(*load)) is turns


def test_a_step_came_at_any_moment_between_its_two_readings():
    # 5 A in one interval of an hour: (5 · 1)² / 12.
    found = sampling(HOURS, amps(*[9] * 6, *[4] * 5), 0.0)
    assert found.variance == pytest.approx(25 / 12)
    assert found.degrees_of_freedom is None


def test_that_is_the_variance_of_a_step_at_an_even_chance():
    moments = (np.arange(10_000) + 0.5) / 10_000
    errors = (9 * moments + 4 * (1 - moments)) - 6.5
    assert float(np.var(errors)) == pytest.approx(25 / 12, rel=1e-6)


def test_missed_readings_widen_by_the_changes_that_were_seen_elsewhere():
    # 1 A an hour up and down the steps; four hours without a reading between two equal currents:
    # 4 steps of 1 A² over 4 h are (4 · 16)/12 beside six intervals of 1/12.
    hours = amps(0, 1, 2, 3, 7, 8, 9, 10)
    load = amps(10, 11, 12, 13, 13, 14, 15, 16)
    assert sampling(hours, load, 0.0).variance == pytest.approx((4 * 16 + 6) / 12)


def test_a_steady_load_has_nothing_to_doubt_in_missed_readings():
    assert sampling(amps(0, 1, 2, 6, 7), amps(*[9] * 5), 1.0).variance == 0


def test_behind_the_last_reading_nothing_holds_the_load():
    # Steps of 1 A an hour; half an hour on: 1 · 0.5³/3 beside ten intervals of 1/12.
    found = sampling(HOURS, np.arange(5.0, 16.0), 0.5)
    assert found.variance == pytest.approx(10 / 12 + 0.125 / 3)


def test_a_load_to_and_fro_is_looked_at_by_chance():
    # 2 and 8 A in turn, eleven looks and two more at each: the variance of 7 and 8 of them is
    # 36 · 7/15 · 8/15 · 15/14 = 9.6 A². The outer two readings have half the weight: the squares
    # of the weights add up to 9 + 2/4.
    load = amps(*[2, 8] * 5, 2)
    found = sampling(HOURS, load, 0.0)
    assert found.variance == pytest.approx(9.6 * 9.5)
    assert found.degrees_of_freedom == 10
    # Half an hour more at the same mean.
    assert sampling(HOURS, load, 0.5).variance == pytest.approx(9.6 * 9.5 * 1.05**2)


def test_what_is_rare_is_doubted_more_than_it_was_met():
    # One of ten looks met 10 A, the others 0: with two more at each 3 of 14, 100 · 3/14 · 11/14 ·
    # 14/13 = 18.13 A² instead of 10.
    found = sampling(np.arange(10.0), amps(*[0] * 4, 10, *[0] * 5), 0.0)
    assert found.variance == pytest.approx(18.131868 * 8.5)


def test_readings_close_together_see_the_load_switch():
    # 1 min apart, 20 min at 8 A and 20 min at 2 A, for 10 h and a minute: 30 switches. By the
    # moments of the switches (6/60)² · 30/12 = 0.025 Ah²; by chance alone 9 · 10²/601 = 1.5 Ah².
    load = amps(*([8] * 20 + [2] * 20) * 15, 8)
    found = sampling(np.arange(601) / 60, load, 0.0)
    assert 0.025 < found.variance < 0.15 * 1.5


def test_readings_far_apart_may_keep_step_with_the_load():
    # Hourly, 20 readings at 8 A and 20 at 2 A in turn, 3 times: neighbours are alike, but looks at
    # a load that switches within minutes would be as well. 61 and 60 looks, two more at each:
    # 36 · 63/125 · 62/125 · 125/124 = 9.0726 A²; squares of the weights 119.5.
    load = amps(*([8] * 20 + [2] * 20) * 3, 8)
    assert sampling(np.arange(121.0), load, 0.0).variance == pytest.approx(9.0726 * 119.5, rel=1e-4)


def test_a_telegraph_signal_is_off_by_what_the_formula_says():
    # An on/off load with exponential stays, read at a correlation of exp(-x) from one reading to
    # the next: the variance of the readings' mean less the true mean is coth(x/2) - 2/x of that of
    # independent looks. Simulated with a seed of its own.
    rng, every, looks, inside = np.random.default_rng(5), 1.0, 40, 50
    errors = []
    for _ in range(1500):
        changes = rng.random(looks * inside) < 0.5 * (1 - math.exp(-2 * 0.5 / inside))
        state = np.cumsum(changes) % 2
        fine = np.concatenate(([0], state)).astype(float)
        true = float(np.mean((fine[1:] + fine[:-1]) / 2))
        seen = fine[:: round(every * inside)]
        errors.append(float(np.mean((seen[1:] + seen[:-1]) / 2)) - true)
    x = 1.0
    expected = 0.25 / looks * (1 / math.tanh(x / 2) - 2 / x)
    assert float(np.var(errors)) == pytest.approx(expected, rel=0.12)
