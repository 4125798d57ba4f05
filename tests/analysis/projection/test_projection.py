"""Relations that the projection must keep, and input that it must survive."""

import numpy as np
import pytest

from app.analysis.projection.end_of_life import reference_library
from app.analysis.projection.projection import (
    HORIZON_DAYS,
    ProjectionOutcome,
    ProjectionRequest,
    project,
)
from tests.analysis.fading import CAPACITY, DAYS


def answer(days, capacity, u=None, at_least=None, **asked):
    days, capacity = np.asarray(days, float), np.asarray(capacity, float)
    u = np.ones(len(days)) if u is None else np.asarray(u, float)
    found = project(
        days,
        capacity,
        u,
        library=reference_library(),
        at_least=at_least,
        question=ProjectionRequest(**asked),
    )
    check_sane(found)
    return found


def check_sane(found):
    days = [day for _, day in found.quantiles if day is not None]
    assert all(np.isfinite(days))
    assert days == sorted(days)
    if found.fan is not None:
        assert np.isfinite(found.fan.capacities).all()
        assert (np.diff(found.fan.capacities, axis=0) >= -1e-9).all()
    for day in (found.first_day, found.first_day + 1000, found.first_day + 1e5):
        chance = found.chance_above(day)
        assert chance is None or 0 <= chance <= 1


def differences(one, other, shift=0.0):
    return [
        abs(a - b - shift)
        for (_, a), (_, b) in zip(one.quantiles, other.quantiles, strict=True)
        if a is not None and b is not None
    ]


PLAIN = answer(DAYS, CAPACITY)


def test_shifting_every_date_shifts_the_answer_as_much():
    assert max(differences(answer(DAYS + 5000, CAPACITY), PLAIN, 5000)) < 1e-6


def test_the_unit_of_capacity_does_not_matter():
    scaled = answer(DAYS, CAPACITY * 3.7, np.full(10, 3.7))
    assert max(differences(scaled, PLAIN)) < 1e-3


def test_the_order_of_the_tests_does_not_matter():
    order = np.random.default_rng(2).permutation(10)
    assert differences(answer(DAYS[order], CAPACITY[order]), PLAIN) == [0.0] * 5


def test_a_lower_bound_below_what_is_known_changes_nothing_to_speak_of():
    with_bound = answer(
        np.append(DAYS, DAYS[-1] + 50),
        np.append(CAPACITY, 60.0),
        at_least=np.append(np.zeros(10, bool), True),
    )
    assert max(differences(with_bound, PLAIN)) < 0.1


def test_a_high_lower_bound_years_later_moves_the_end_away():
    later = answer(
        np.append(DAYS, DAYS[-1] + 730),
        np.append(CAPACITY, 90.0),
        at_least=np.append(np.zeros(10, bool), True),
    )
    assert later.quantile(0.5) > PLAIN.quantile(0.5) + 60


@pytest.mark.parametrize("bound", [101.0, 103.0, 110.0])
def test_a_lower_bound_that_cannot_be_makes_the_answer_no_surer(bound):
    days = 738_000 + 91.0 * np.arange(8)
    capacity = np.linspace(100, 96.7, 8)
    plain = answer(days, capacity, np.full(8, 0.6))
    odd = answer(
        np.append(days, days[-1] + 2),
        np.append(capacity, bound),
        np.full(9, 0.6),
        at_least=np.append(np.zeros(8, bool), True),
    )

    def width(found):
        return (found.quantile(0.95) or found.first_day + HORIZON_DAYS) - found.quantile(0.05)

    assert width(odd) > 0.8 * width(plain)


def test_an_early_lower_bound_keeps_its_date():
    days = np.array([0.0, 2900, 3000, 3100, 3200])
    capacity = np.array([99.0, 90.0, 89.5, 89.0, 88.5])
    found = answer(days, capacity, at_least=np.array([True] + [False] * 4))
    assert found.first_day == 0
    assert found.quantile(0.5) > 3600


def test_a_battery_that_lost_much_at_once_is_held_against_its_first_tests():
    days = 91.0 * np.arange(12)
    capacity = np.where(np.arange(12) < 3, 100.0, 70.0)
    found = answer(days, capacity)
    assert found.threshold_amp_hours == pytest.approx(80, abs=3)
    assert found.outcome is ProjectionOutcome.ALREADY_BELOW


def test_more_tests_of_the_same_record_say_no_less():
    rng = np.random.default_rng(8)
    days = np.sort(rng.uniform(0, 2000, 4000))
    capacity = 100 - 3 * days / 365 + rng.normal(0, 1, 4000)
    many, few = answer(days, capacity), answer(days[::40], capacity[::40])
    assert abs(many.quantile(0.5) - few.quantile(0.5)) < 500
    assert many.start_amp_hours == pytest.approx(100, abs=1.5)


def test_a_test_at_the_predicted_value_does_not_widen_the_answer_noticeably():
    for seed in range(12):
        rng = np.random.default_rng(seed)
        count = int(rng.integers(3, 20))
        days = np.sort(rng.uniform(0, 100 * count, count))
        capacity = 100 - rng.uniform(1, 5) * days / 365 + rng.normal(0, 1, count)
        before = answer(days, capacity, fan_points=200)
        day = days[-1] + 91
        middle = np.interp(day, before.fan.days, before.fan.capacities[2])
        after = answer(np.append(days, day), np.append(capacity, middle))

        def width(found):
            return (found.quantile(0.95) or found.first_day + HORIZON_DAYS) - found.quantile(0.05)

        assert width(after) < 1.06 * width(before)


def test_one_test_is_nearly_the_prior_and_says_so():
    found = answer([0], [100])
    assert found.mostly_prior
    assert found.quantile(0.05) / 365.25 == pytest.approx(2.2, abs=0.3)
    assert found.quantile(0.95) / 365.25 == pytest.approx(23, abs=1.5)
    steep = answer(DAYS, 100 - 7 * (DAYS - DAYS[0]) / 365)
    assert not steep.mostly_prior


def test_one_gross_outlier_hardly_moves_the_answer():
    for row in (0, 2, 5):
        spoilt = CAPACITY.copy()
        spoilt[row] *= 0.88
        moved = answer(DAYS, spoilt).quantile(0.5) - PLAIN.quantile(0.5)
        assert abs(moved) < 0.25 * (PLAIN.quantile(0.5) - DAYS[0])


def test_the_fan_crosses_the_threshold_when_the_answer_says():
    found = answer(DAYS, CAPACITY, fan_points=300)
    for row, (_, day) in enumerate(found.quantiles):
        crossed = np.interp(-found.threshold_amp_hours, -found.fan.capacities[row], found.fan.days)
        assert crossed - DAYS[0] == pytest.approx(day - DAYS[0], rel=0.05)


def test_a_gain_shared_by_all_tests_widens_an_absolute_threshold_only():
    sure, unsure = (
        answer(DAYS, CAPACITY, amp_hours=80),
        answer(DAYS, CAPACITY, amp_hours=80, gain=0.03),
    )
    assert unsure.quantile(0.05) < sure.quantile(0.05)
    assert unsure.quantile(0.95) > sure.quantile(0.95)
    assert differences(answer(DAYS, CAPACITY, gain=0.03), PLAIN) == [0.0] * 5


@pytest.mark.parametrize(
    ("capacity", "outcome", "above"),
    [(70.0, ProjectionOutcome.ALREADY_BELOW, 0.0), (100.0, ProjectionOutcome.PROJECTED, 1.0)],
)
def test_a_day_that_begins_before_its_first_test_is_answered_as_by_that_test(
    capacity, outcome, above
):
    # Today is a whole day, the test was at noon. 70 Ah is ten standard uncertainties below 80.
    found = answer([738_000.5], [capacity], amp_hours=80, today=738_000.0)
    assert found.outcome is outcome
    assert found.chance_above_today == pytest.approx(above, abs=1e-6)


@pytest.mark.parametrize(
    ("days", "capacity", "u", "outcome"),
    [
        ([], [], [], ProjectionOutcome.NOT_YET_KNOWN),
        ([0] * 5, [100, 101, 99, 100, 98], [1] * 5, ProjectionOutcome.PROJECTED),
        (DAYS, 100 + 2 * np.arange(10.0), np.ones(10), ProjectionOutcome.PROJECTED),
        (DAYS, np.full(10, 100.0), np.zeros(10), ProjectionOutcome.PROJECTED),
        (np.arange(8) * 365, 100 - np.arange(8) * 4.0, np.ones(8), ProjectionOutcome.ALREADY_BELOW),
        (np.arange(60) * 365, np.full(60, 100.0), np.ones(60), ProjectionOutcome.BEYOND_HORIZON),
        (
            DAYS,
            np.where(np.arange(10) == 5, 1e9, CAPACITY),
            np.ones(10),
            ProjectionOutcome.PROJECTED,
        ),
        (
            DAYS,
            np.where(np.arange(10) == 5, 1e-9, CAPACITY),
            np.ones(10),
            ProjectionOutcome.PROJECTED,
        ),
        (DAYS, CAPACITY, np.full(10, 1e300), ProjectionOutcome.PROJECTED),
        (DAYS, CAPACITY, np.full(10, np.inf), ProjectionOutcome.PROJECTED),
        ([0, np.nan, 91], [100, 99, np.nan], [1, 1, 1], ProjectionOutcome.PROJECTED),
    ],
)
def test_odd_records_have_a_clear_outcome(days, capacity, u, outcome):
    assert answer(days, capacity, u).outcome is outcome


@pytest.mark.parametrize(
    "asked", [{"amp_hours": a} for a in (10, 99.8, 120)] + [{"share": s} for s in (0.05, 0.999)]
)
def test_odd_thresholds_have_a_clear_outcome(asked):
    assert answer(DAYS, CAPACITY, **asked).outcome


def test_lower_bounds_alone_are_not_yet_known():
    found = answer([0, 300], [90, 88], at_least=np.array([True, True]))
    assert found.outcome is ProjectionOutcome.NOT_YET_KNOWN
    assert found.quantile(0.5) is None


def test_thousands_of_tests_are_grouped():
    rng = np.random.default_rng(6)
    days = np.sort(rng.uniform(0, 2000, 5000))
    found = answer(days, 100 - 3 * days / 365 + rng.normal(0, 1, 5000))
    assert found.outcome is ProjectionOutcome.PROJECTED


def test_the_shipped_curves_name_their_sources_and_are_small():
    from app.analysis.projection.end_of_life import _DATA

    with np.load(_DATA) as data:
        sources = " ".join(data["sources"])
        assert len(data["cell"]) == 152
    for name in ("hust_lfp", "mit_lfp", "tju_nca", "tju_ncm", "nasa_18650", "tabulated by"):
        assert name in sources
    assert _DATA.stat().st_size < 100_000


def test_every_trajectory_is_at_80_percent_after_one_life():
    """Times are in lives to 80 %: so each crosses there at 1, and 90 % before, 70 % after it.

    The table of crossings has a step of its own: within 2 % of a life.
    """
    library = reference_library()
    ninety, eighty, seventy = (library.crossing_at(np.float64(s)) for s in (0.9, 0.8, 0.7))
    assert eighty.shape == (len(library.family), 1)
    assert eighty == pytest.approx(np.ones_like(eighty), abs=0.02)
    assert np.all(ninety < eighty)
    assert np.all(eighty < seventy)


def test_what_is_held_out_is_one_family_or_one_cell_of_it_and_nothing_else():
    library = reference_library()
    known = list(zip(library.family, library.cell, strict=True))
    family, cell = next(pair for pair in known if not pair[0].startswith("smooth"))
    less_cell, less_family = (
        library.without(family=family, cell=cell),
        library.without(family=family),
    )
    left = list(zip(less_cell.family, less_cell.cell, strict=True))
    assert left == [pair for pair in known if pair != (family, cell)]
    assert 0 < len(left) < len(known)
    assert less_family.family == tuple(name for name, _ in known if name != family)
    assert less_cell.prior.sum() == pytest.approx(1)
    assert less_cell.log_share.shape[0] == less_cell.crossing.shape[0] == len(left)
