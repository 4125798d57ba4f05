import math

import numpy as np
import pytest

from app.analysis.statistics.coverage import shape_factor


def test_a_normal_and_a_rectangle_alone_have_the_factors_of_the_guide():
    """JCGM 100:2008, table G.1 and 4.3.9: 1.96, and 95 % of the half-width of a rectangle."""
    assert shape_factor([], 1.0, 0.95) == pytest.approx(1.959964, abs=1e-4)
    assert shape_factor([0.3], 0.0, 0.95) == pytest.approx(0.95 * math.sqrt(3), abs=1e-4)


def test_a_mixed_sum_has_the_factor_that_random_draws_give():
    """The method of JCGM 101: its own draws, 95 % of which lie inside."""
    rng, count = np.random.default_rng(1), 2_000_000
    half = math.sqrt(3)
    drawn = rng.uniform(-half, half, count) + 0.5 * rng.uniform(-half, half, count)
    drawn += 0.3 * rng.normal(size=count)
    expected = float(np.quantile(np.abs(drawn), 0.95)) / math.sqrt(1 + 0.25 + 0.09)
    assert shape_factor([1.0, 0.5], 0.3, 0.95) == pytest.approx(expected, abs=2.5e-3)
