"""One number by the standard library, where the rest is scipy's: the two must not differ."""

import math

import numpy as np
import pytest
from scipy import special

from app.analysis.statistics import distributions
from app.analysis.statistics.coverage import student_factor

NEAR = {"rel": 1e-12, "abs": 0}


@pytest.mark.parametrize("z", [-30.0, -8.0, -1.96, -1e-9, 0.0, 0.5, 3.0, 9.0])
def test_a_normal_probability_is_exact_far_out_as_well(z):
    known = float(special.ndtr(z))
    assert distributions.student_probability(math.inf, z) == pytest.approx(known, **NEAR)


@pytest.mark.parametrize("chance", [1e-12, 0.025, 0.3, 0.5, 0.8, 0.95, 0.975, 1 - 1e-9])
def test_a_normal_quantile_is_that_of_the_library(chance):
    known = float(special.ndtri(chance))
    assert distributions.normal_quantile(chance) == pytest.approx(known, **NEAR)
    assert distributions.student_quantile(math.inf, chance) == pytest.approx(known, **NEAR)


@pytest.mark.parametrize(
    ("freedom", "expected"), [(1, 12.706), (4, 2.776), (10, 2.228), (60, 2.000), (None, 1.960)]
)
def test_student_s_factor_is_that_of_the_tables(freedom, expected):
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, column 0.975."""
    assert student_factor(freedom) == pytest.approx(expected, abs=0.0005)


def test_student_s_chance_and_quantile_are_each_the_other_s_way_back():
    for freedom in (1, 2.5, 12, math.inf):
        t = distributions.student_quantile(freedom, 0.9)
        assert distributions.student_probability(freedom, t) == pytest.approx(0.9, **NEAR)
        both = distributions.student_probabilities(freedom, np.array([t, -t]))
        assert both == pytest.approx([0.9, 0.1], **NEAR)
