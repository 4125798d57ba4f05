from datetime import date

import pytest

from app.analysis.end_of_life import Outcome, project
from app.analysis.fade import TrendPoint, fit_fade
from app.analysis.line import crossing
from app.domain.finding import Kind

START = date(2022, 3, 1).toordinal()
NOISE = (0.3, -0.4, 0.1, 0.5, -0.3, -0.2, 0.4, -0.1, 0.2, -0.5, 0.3, -0.2)


def points(yearly=-3.0, count=12, noise=NOISE, u=0.5, start=START, kind=Kind.MEASURED):
    return [
        TrendPoint(start + 91.0 * i, 100 + yearly * 91 * i / 365.25 + noise[i], 2 * u, u, kind)
        for i in range(count)
    ]


def test_the_rate_is_a_percentage_of_the_reference_a_year():
    fade = fit_fade(points(noise=(0,) * 12), reference_ah=100)
    assert fade.rate_percent_per_year == pytest.approx(3.0)
    assert fade.low < 3.0 < fade.high
    assert fade.significant


def test_without_a_reference_the_fitted_first_capacity_is_the_reference():
    fade = fit_fade(points(noise=(0,) * 12))
    assert fade.reference_ah == pytest.approx(100)


def test_doubling_the_weights_halves_the_variance():
    one = fit_fade(points(u=1.0), 100).line
    two = fit_fade(points(u=2**-0.5), 100).line
    assert two.slope_variance == pytest.approx(one.slope_variance / 2)


def test_the_order_of_the_tests_does_not_matter():
    assert fit_fade(points()[::-1], 100) == fit_fade(points(), 100)


def test_units_do_not_matter():
    milli = [
        TrendPoint(
            p.day, p.capacity_ah * 1000, p.standard_ah * 1000, p.independent_ah * 1000, p.kind
        )
        for p in points()
    ]
    assert fit_fade(milli).rate_percent_per_year == pytest.approx(
        fit_fade(points()).rate_percent_per_year
    )


def test_lower_bounds_are_counted_but_never_fitted():
    bound = TrendPoint(START + 400.0, 60.0, 1, 0.5, Kind.AT_LEAST)
    with_bound = fit_fade([*points(), bound], 100)
    assert with_bound.line == fit_fade(points(), 100).line
    assert with_bound.lower_bounds == 1


@pytest.mark.parametrize(
    ("tests", "words"),
    [
        ([], "No test yet"),
        (points(count=3, kind=Kind.AT_LEAST), "Only lower bounds"),
        (points(count=1), "at least two"),
        ([points()[0], points()[0]], "needs time between"),
    ],
)
def test_no_rate_is_given_where_none_can_be_had(tests, words):
    fade = fit_fade(tests, 100)
    assert fade.rate_percent_per_year is None
    assert words in fade.words
    assert project(fade, 80).outcome is Outcome.NOT_YET_KNOWN


def test_two_tests_rest_on_their_stated_uncertainties():
    fade = fit_fade(points(count=2), 100)
    assert [caveat.code for caveat in fade.caveats] == ["two_tests"]


def test_residuals_larger_than_stated_widen_the_interval():
    loud = tuple(10 * value for value in NOISE)
    honest, wrong = fit_fade(points(u=0.5), 100), fit_fade(points(u=0.5, noise=loud), 100)
    assert wrong.high - wrong.low > 3 * (honest.high - honest.low)


def test_the_end_of_life_is_fieller_s_interval_to_the_day():
    fade = fit_fade(points(), 100)
    end = project(fade, 80)
    found = crossing(fade.line, 80, 0.90)
    assert end.outcome is Outcome.PROJECTED
    for day, value in ((end.p05, found.low), (end.p50, found.estimate), (end.p95, found.high)):
        assert abs(day.toordinal() - START - value) <= 1


def test_shifting_every_date_shifts_the_end_as_much():
    end = project(fit_fade(points(), 100), 80)
    later = project(fit_fade(points(start=START + 1000), 100), 80)
    assert (later.p50 - end.p50).days == 1000
    assert (later.p95 - end.p95).days == 1000


def test_a_slope_that_is_not_significant_has_no_upper_bound_and_no_number():
    end = project(fit_fade(points(yearly=-0.1), 100), 80)
    assert end.outcome is Outcome.NOT_YET_KNOWN
    assert (end.p50, end.p95) == (None, None)
    assert "no upper bound" in end.words


def test_rising_capacities_project_nothing():
    end = project(fit_fade(points(yearly=4.0), 100), 80)
    assert end.outcome is Outcome.NOT_YET_KNOWN
    assert (end.p05, end.p50, end.p95) == (None, None, None)


def test_a_slow_but_certain_fade_lies_beyond_the_horizon():
    end = project(fit_fade(points(yearly=-0.5, noise=(0,) * 12, u=0.01), 100), 80)
    assert end.outcome is Outcome.BEYOND_HORIZON
    assert end.p50 is None


def test_a_trend_already_below_says_so():
    end = project(fit_fade(points(yearly=-12), 100), 80)
    assert end.outcome is Outcome.ALREADY_BELOW
