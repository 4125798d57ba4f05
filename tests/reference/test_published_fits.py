"""Published fits with shared errors, lower bounds and a bend (SOURCES.md)."""

from pathlib import Path

import numpy as np
import pytest

from app.analysis.statistics.censored import censored_line
from app.analysis.statistics.gls import generalised_fit
from tests.reference.lines import broken_line

TABLES = Path(__file__).parent / "tables"


def table(name):
    return np.genfromtxt(TABLES / name, delimiter=",", names=True)


def ordinary(design, y):
    fit = generalised_fit(design, y, np.ones(len(y)), np.zeros((len(y), 0)))
    variance = fit.chi_squared / (len(y) - design.shape[1])
    return fit.coefficients, np.sqrt(np.diag(fit.covariance) * variance), variance**0.5


def test_longley_gives_the_certified_values_though_badly_conditioned():
    # NIST StRD, Longley.
    rows = table("nist-longley.csv")
    names = ("GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR")
    design = np.column_stack([np.ones(len(rows)), *(rows[name] for name in names)])
    found, errors, deviation = ordinary(design, rows["TOTEMP"])
    certified = [
        -3482258.63459582,
        15.0618722713733,
        -0.0358191792925910,
        -2.02022980381683,
        -1.03322686717359,
        -0.0511041056535807,
        1829.15146461355,
    ]
    certified_errors = [
        890420.383607373,
        84.9149257747669,
        0.0334910077722432,
        0.488399681651699,
        0.214274163161675,
        0.226073200069370,
        455.478499142212,
    ]
    assert found == pytest.approx(certified, rel=1e-8)
    assert errors == pytest.approx(certified_errors, rel=1e-8)
    assert deviation == pytest.approx(304.854073561965, rel=1e-9)


def test_a_common_error_enters_the_intercept_and_not_the_slope():
    # GUM H.3 with a common systematic 0.005: u(intercept) 0.00576893, slope unchanged 0.00066794
    # (GTC documentation, GUM_H3).
    rows = table("gum-h3.csv")
    t, b = (rows[name] for name in rows.dtype.names)
    design = np.column_stack([np.ones(len(t)), t - 20])
    _, _, deviation = ordinary(design, b)
    shared = np.full((len(t), 1), 0.005)
    fit = generalised_fit(design, b, np.full(len(t), deviation**2), shared)
    assert np.sqrt(fit.covariance[0, 0]) == pytest.approx(0.00576893, abs=5e-9)
    assert np.sqrt(fit.covariance[1, 1]) == pytest.approx(0.00066794, abs=5e-9)


def test_the_motorettes_give_the_published_line_through_failures_and_survivors():
    # Nelson & Hahn 1972, Schmee & Hahn 1979: log10 h = -6.019 + 4.311 · 1000/T, sigma 0.2592.
    rows = table("motorettes.csv")
    x, y = 1000 / (273.2 + rows["temp_C"]), np.log10(rows["hours"])
    fit = censored_line(x, y, rows["failed"] == 0, np.zeros(len(x)))
    assert (round(fit.intercept, 3), round(fit.slope, 3)) == (-6.019, 4.311)
    assert round(fit.sigma, 4) == 0.2592


def test_the_motorettes_without_the_coolest_group_give_the_published_errors():
    # SAS/STAT LIFEREG, "Motorette", lognormal: -10.4706 (2.7719), 8.3221 (1.2841), 0.6040.
    rows = table("motorettes.csv")
    rows = rows[rows["temp_C"] > 150]
    x, y = 1000 / (273.2 + rows["temp_C"]), np.log(rows["hours"])
    fit = censored_line(x, y, rows["failed"] == 0, np.zeros(len(x)))
    errors = np.sqrt(np.diag(fit.covariance))
    assert (round(fit.intercept, 4), round(errors[0], 4)) == (-10.4706, 2.7719)
    assert (round(fit.slope, 4), round(errors[1], 4)) == (8.3221, 1.2841)
    assert round(fit.sigma, 4) == 0.6040


def test_failures_alone_would_give_another_line():
    # Least squares of the failures alone gives 8.79 instead of 9.93: the trap of dropping bounds.
    rows = table("motorettes.csv")
    rows = rows[rows["failed"] == 1]
    slope = np.polyfit(1000 / (273.2 + rows["temp_C"]), np.log(rows["hours"]), 1)[0]
    assert slope == pytest.approx(8.79, abs=0.01)


def test_the_broken_stick_has_its_bend_where_published():
    # Bacon & Watts 1971: knot 0.041106, slopes -0.42208 and -1.02057, 0.527311 at the knot,
    # residual sum of squares 0.0091402 (least squares, as recomputed).
    rows = table("stagnant.csv")
    found = broken_line(rows["x"], rows["y"])
    assert found.knot == pytest.approx(0.041106, abs=1e-5)
    assert found.slope_before == pytest.approx(-0.42208, abs=1e-4)
    assert found.slope_after == pytest.approx(-1.02057, abs=1e-4)
    assert found.value_at_knot == pytest.approx(0.527311, abs=1e-5)
    assert found.sum_of_squares == pytest.approx(0.0091402, abs=1e-7)
