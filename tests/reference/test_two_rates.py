"""Two slopes, and one line with a bend, against general-purpose libraries and a published table."""

from pathlib import Path

import numpy as np
import pytest
from scipy import optimize, stats

from app.analysis.comparison import comparison
from app.analysis.comparison.comparison import around_move, difference, rate_of
from app.analysis.comparison.comparison_power import Record, further_to_show
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind
from app.domain.units.time_units import DAYS_PER_YEAR

TABLES = Path(__file__).parent / "tables"
START = 738_000.0


def points(years, percent, standard):
    return [
        TrendPoint(
            START + DAYS_PER_YEAR * x, y, standard, standard, EvidenceKind.MEASURED, number, 1
        )
        for number, (x, y) in enumerate(zip(years, percent, strict=True))
    ]


def together(x1, y1, x2, y2):
    """Both lines in one fit by scipy.optimize.curve_fit: difference of the slopes and its error.

    The residual variance is pooled, as the classical comparison of two slopes has it.
    """
    x, y = np.concatenate([x1, x2]), np.concatenate([y1, y2])
    second = np.repeat([0.0, 1.0], [len(x1), len(x2)])

    def model(rows, a, b, c, d):
        x, second = rows
        return a + b * x + second * (c + d * x)

    found, covariance = optimize.curve_fit(model, np.vstack([x, second]), y)
    return found[3], covariance[3, 3] ** 0.5


@pytest.fixture
def two(monkeypatch):
    """Two records whose scatter lies below what is stated, judged by the residuals alone."""
    monkeypatch.setattr(comparison, "PRIOR_TESTS", 0)
    monkeypatch.setattr(comparison, "CURVED_FROM", 99)
    rng = np.random.default_rng(4)
    x1, x2 = np.arange(8) / 4, np.array([0.1, 0.3, 0.9, 1.4, 1.6, 2.2])
    y1 = 100 - 3.0 * x1 + rng.normal(0, 0.4, 8)
    y2 = 99 - 1.0 * x2 + rng.normal(0, 0.4, 6)
    return x1, y1, x2, y2


def test_the_difference_is_the_pooled_comparison_of_two_slopes(two):
    x1, y1, x2, y2 = two
    gap = difference(
        rate_of("one", points(x1, y1, 2.0), 100.0), rate_of("two", points(x2, y2, 2.0), 100.0)
    )
    slope, error = together(*two)
    freedom = len(x1) + len(x2) - 4
    # Fade counts downwards: the second slope less the first is the first rate less the second.
    assert gap.points_per_year == pytest.approx(slope, rel=1e-7)
    assert gap.standard == pytest.approx(error, rel=1e-6)
    assert gap.degrees_of_freedom == freedom
    low, high = stats.t.interval(0.95, freedom, slope, error)
    assert (gap.low, gap.high) == pytest.approx((low, high), rel=1e-6)
    assert gap.probability_faster == pytest.approx(stats.t.cdf(slope / error, freedom), rel=1e-6)


def test_slopes_are_those_of_linear_regression(two):
    x1, y1, _, _ = two
    rate = rate_of("one", points(x1, y1, 2.0), 100.0)
    line = stats.linregress(x1, y1)
    assert rate.percent_per_year == pytest.approx(-line.slope, rel=1e-7)
    assert rate.pivot_percent == pytest.approx(line.intercept + line.slope * x1[0], rel=1e-7)


def test_a_move_at_the_published_bend_gives_the_published_slopes():
    # Bacon & Watts 1971: slopes -0.42208 and -1.02057 around 0.041106 (tables/stagnant.csv).
    rows = np.genfromtxt(TABLES / "stagnant.csv", delimiter=",", names=True)
    # The model needs positive capacities and a year's length: shifted, which leaves slopes alone.
    made = points(rows["x"], rows["y"] + 10, 0.5)
    gap = around_move(made, START + DAYS_PER_YEAR * 0.041106, 100.0)
    assert gap.second.percent_per_year == pytest.approx(0.42208, abs=2e-4)
    assert gap.first.percent_per_year == pytest.approx(1.02057, abs=2e-4)
    assert gap.second.pivot_percent == pytest.approx(10.527311, abs=1e-4)


def test_so_many_tests_find_the_difference_in_four_of_five_cases():
    # Power of a t-test by scipy's non-central t, at the count that is told and one fewer.
    years = np.arange(6) / 4
    records = [Record.of(points(years, 100 - r * years, 0.6), 100.0, 91.3125) for r in (3.0, 2.0)]
    shown = 1.5
    further = further_to_show(records, shown)

    def power(count):
        x = np.arange(count) / 4
        error = 0.6 * (2 / ((x - x.mean()) ** 2).sum()) ** 0.5
        freedom = 2 * (count - 3) + comparison.PRIOR_TESTS
        return stats.nct.sf(stats.t.ppf(0.975, freedom), freedom, shown / error)

    assert further > 1
    assert power(6 + further) >= 0.8 > power(6 + further - 1)
