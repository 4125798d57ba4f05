import math

import pytest

from app.analysis.fade_line import contradicts, fit_fade_line
from app.analysis.line import Line
from app.analysis.trend_point import TrendPoint
from app.domain.finding import Kind

# Twelve tests of 100 Ah, each sure within 0.5 Ah of its own and 2 Ah of its meter, a tenth of a
# year apart. Of 0 to 11 the mean is 5.5 and the squares about it sum to 143: the line at its start
# has the standard error 0.5 × sqrt(1/12 + 5.5²/143) = 0.2715, its slope 0.5 / sqrt(1.43) = 0.4181.
STEP_DAYS = 36.525
BEGIN = math.sqrt(1 / 12 + 5.5**2 / 143)
WHOLE = math.hypot(0.5, 2.0)


def point(step, capacity_ah=100.0, standard_ah=WHOLE, kind=Kind.MEASURED, meter=1):
    return TrendPoint(
        738_000 + STEP_DAYS * step, capacity_ah, standard_ah, 0.5, kind, meter_id=meter
    )


TESTS = [point(step) for step in range(12)]


def low_bound(meter):
    """Near enough to the line to be heard, and so low that it moves it by hardly anything."""
    return point(5.5, 94.0, kind=Kind.AT_LEAST, meter=meter)


def per_year(line):
    return line.slope_se * 365.25


@pytest.mark.parametrize("bounds", [[], [low_bound(1)]])
def test_one_meter_s_gain_stays_in_the_level_beside_a_bound(bounds):
    line, _ = fit_fade_line(TESTS, bounds)
    # 2 % of 100 Ah beside the line's own error; the slope of a steady capacity has no gain in it.
    assert line.se_at(0.0) == pytest.approx(math.hypot(0.2715, 2.0), rel=1e-3)
    assert per_year(line) == pytest.approx(0.4181, rel=1e-3)


def test_several_meters_gains_count_in_full_beside_a_bound():
    line, _ = fit_fade_line(TESTS, [low_bound(2)])
    # Each test is then sure within sqrt(0.5² + 2²) = 2.0616 Ah: 2.0616 × 0.5429 = 1.1193 at the
    # start, 2.0616 / sqrt(1.43) = 1.7240 Ah a year.
    assert line.se_at(0.0) == pytest.approx(WHOLE * BEGIN, rel=0.02)
    assert per_year(line) == pytest.approx(1.7240, rel=0.02)


@pytest.mark.parametrize(("bound_ah", "contradicting"), [(127.9, False), (128.1, True)])
def test_a_bound_contradicts_from_four_times_the_whole_uncertainty_on(bound_ah, contradicting):
    # 2 Ah of the bound, 3 Ah of the line and a scatter of 6 Ah: sqrt(4 + 9 + 36) = 7, times four.
    line = Line(100.0, 0.0, 9.0, 0.0, 0.0, 1.0, 10)
    bound = TrendPoint(100.0, bound_ah, 2.0, 0.5, Kind.AT_LEAST)
    assert contradicts(bound, line, 0.0, 36.0) is contradicting


def test_a_bound_of_another_meter_is_not_called_wrong_within_its_gain():
    # 9 Ah above the line: eighteen times the bound's own 0.5 Ah, and less than four times what it
    # and the line may be off by with their meters, sqrt(2.0616² + 2.0052²) = 2.876.
    assert contradicting_at(111.4) is False
    assert contradicting_at(111.6) is True


def contradicting_at(bound_ah):
    """Whether the line leaves a bound of another meter, in the middle of the tests, aside."""
    line, _ = fit_fade_line(TESTS, [point(5.5, bound_ah, kind=Kind.AT_LEAST, meter=2)])
    return line.at(5.5 * STEP_DAYS) == pytest.approx(100.0, abs=1e-6)


def test_a_bound_above_the_line_lifts_it_by_what_its_likelihood_says():
    # A level d above 100 Ah, sure within 2.0616 / sqrt(12) = 0.5951, and a bound 5 Ah above: where
    # d / 0.5951² is the density over the chance at (d - 5) / 2.0616, divided by 2.0616. At 0.44
    # that is 1.24 = 2.57 / 2.06.
    line, _ = fit_fade_line(TESTS, [point(5.5, 105.0, kind=Kind.AT_LEAST, meter=2)])
    assert line.at(5.5 * STEP_DAYS) == pytest.approx(100.44, abs=0.005)
