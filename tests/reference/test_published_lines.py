"""Published straight lines, their uncertainties and inverse predictions (SOURCES.md)."""

from pathlib import Path

import numpy as np
import pytest

from app.analysis.statistics.line import crossing
from tests.reference.lines import fit_line

TABLES = Path(__file__).parent / "tables"


def table(name):
    rows = np.genfromtxt(TABLES / name, delimiter=",", names=True)
    return [rows[column] for column in rows.dtype.names]


def test_norris_gives_the_certified_values():
    # NIST StRD, Norris: certified to 15 digits.
    y, x = table("nist-norris.csv")
    line = fit_line(x, y)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.se_at(0) == pytest.approx(0.232818234301152, rel=1e-9)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.slope_se == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)


def test_gum_h3_gives_the_published_line_and_its_extrapolation():
    # JCGM 100:2008, H.3.3 and H.3.4: intercept, slope, correction at 30 °C, which lies outside.
    temperature, correction = table("gum-h3.csv")
    line = fit_line(temperature - 20, correction)
    assert (round(line.intercept, 4), round(line.se_at(0), 4)) == (-0.1712, 0.0029)
    assert (round(line.slope, 5), round(line.slope_se, 5)) == (0.00218, 0.00067)
    assert (round(line.at(10), 4), round(line.se_at(10), 4)) == (-0.1494, 0.0041)


def test_a_future_reading_is_inverted_as_graybill_and_iyer_do():
    # Graybill & Iyer 1994, p. 431.
    line = fit_line(*table("graybill-thermostat.csv"))
    found = crossing(line, 104, 0.95, observed=True)
    assert found.estimate == pytest.approx(103.995, abs=5e-4)
    assert (round(found.low, 1), round(found.high, 1)) == (103.4, 104.6)
    found = crossing(line, 100, 0.90, observed=True)
    assert found.estimate == pytest.approx(100.1, abs=0.05)
    assert (round(found.low, 2), round(found.high, 2)) == (99.63, 100.59)


@pytest.mark.parametrize(
    ("name", "target", "level", "estimate", "low", "high"),
    [
        # Graybill & Iyer 1994, pp. 433-434.
        ("graybill-chamber.csv", 400, 0.99, 66.5, 65.07, 68.03),
        # Greenwell & Schubert Kabban 2014.
        ("crystal.csv", 5, 0.90, 9.93, 8.65, 11.05),
        ("crystal.csv", 8, 0.95, 15.8882, 14.6590, 17.1596),
    ],
)
def test_the_mean_line_is_inverted_to_the_published_interval(
    name, target, level, estimate, low, high
):
    found = crossing(fit_line(*table(name)), target, level)
    assert found.estimate == pytest.approx(estimate, abs=0.05)
    assert found.low == pytest.approx(low, abs=6e-3)
    assert found.high == pytest.approx(high, abs=6e-3)


def test_arsenic_is_inverted_to_the_published_interval():
    # Greenwell & Schubert Kabban 2014: 2.9314 (2.6035, 3.2587) at 90 %.
    found = crossing(fit_line(*table("arsenic.csv")), 3, 0.90, observed=True)
    assert found.estimate == pytest.approx(2.9314, abs=1e-4)
    assert (found.low, found.high) == pytest.approx((2.6035, 3.2587), abs=1e-4)


def test_a_slope_that_does_not_differ_from_zero_bounds_nothing():
    # The same paper, section on inversion: the set is then no interval.
    line = fit_line([0, 1, 2, 3], [10.0, 10.3, 9.8, 10.1])
    found = crossing(line, 5, 0.95)
    assert (found.low, found.high) == (None, None)
