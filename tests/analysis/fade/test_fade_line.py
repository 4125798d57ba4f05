import math

import pytest
from scipy.stats import truncnorm

from app.analysis.fade.fade_line import contradicts, fit_fade_line
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.statistics.line import Line
from app.domain.finding import EvidenceKind

# Twelve tests of 100 Ah, each sure within 0.5 Ah of its own and 2 Ah of its meter, a tenth of a
# year apart. Of 0 to 11 the mean is 5.5 and the squares about it sum to 143: the line at its start
# has the standard error 0.5 × sqrt(1/12 + 5.5²/143) = 0.2715, its slope 0.5 / sqrt(1.43) = 0.4181.
STEP_DAYS = 36.525
BEGIN = math.sqrt(1 / 12 + 5.5**2 / 143)
WHOLE = math.hypot(0.5, 2.0)


def point(step, capacity_ah=100.0, standard_ah=WHOLE, kind=EvidenceKind.MEASURED, meter=1):
    return TrendPoint(
        738_000 + STEP_DAYS * step, capacity_ah, standard_ah, 0.5, kind, meter_id=meter
    )


TESTS = [point(step) for step in range(12)]


def low_bound(meter):
    """Near enough to the line to be heard, and so low that it moves it by hardly anything."""
    return point(5.5, 94.0, kind=EvidenceKind.AT_LEAST, meter=meter)


def per_year(line):
    return line.slope_se * 365.25


@pytest.mark.parametrize("bounds", [[], [low_bound(1)], [low_bound(2)]])
def test_one_meter_s_gain_stays_in_the_level_beside_a_bound_of_whatever_meter(bounds):
    line, _ = fit_fade_line(TESTS, bounds)
    # 2 % of 100 Ah beside the line's own error; the slope of a steady capacity has no gain in it.
    assert line.se_at(0.0) == pytest.approx(math.hypot(0.2715, 2.0), rel=1e-3)
    assert per_year(line) == pytest.approx(0.4181, rel=1e-3)


@pytest.mark.parametrize("bounds", [[], [low_bound(3)]])
def test_a_change_of_meter_is_in_the_slope_beside_a_bound(bounds):
    # Six tests by each of two meters. Within each the squares sum to 17.5 steps: 2 × 0.175 / 0.25 =
    # 1.4 of information. Their means, 0.6 years apart, differ with the variance 2 × (0.25/6 + 4) =
    # 8.0833: 0.36 / 8.0833 = 0.0445 more. 1 / sqrt(1.4445) = 0.8320 Ah a year.
    two = [point(step, meter=1 if step < 6 else 2) for step in range(12)]
    line, _ = fit_fade_line(two, bounds)
    assert per_year(line) == pytest.approx(0.8320, rel=1e-3)


@pytest.mark.parametrize(("bound_ah", "contradicting"), [(127.9, False), (128.1, True)])
def test_a_bound_contradicts_from_four_times_the_whole_uncertainty_on(bound_ah, contradicting):
    # 2 Ah of the bound, 3 Ah of the line and a scatter of 6 Ah: sqrt(4 + 9 + 36) = 7, times four.
    line = Line(100.0, 0.0, 9.0, 0.0, 0.0, 1.0, 10)
    bound = TrendPoint(100.0, bound_ah, 2.0, 0.5, EvidenceKind.AT_LEAST)
    assert contradicts(bound, line, 0.0, 36.0) is contradicting


def test_a_bound_of_another_meter_is_not_called_wrong_within_its_gain():
    # 9 Ah above the line: eighteen times the bound's own 0.5 Ah, and less than four times what it
    # and the line may be off by with their meters, sqrt(2.0616² + 2.0052²) = 2.876.
    assert contradicting_at(111.4) is False
    assert contradicting_at(111.6) is True


def contradicting_at(bound_ah):
    """Whether the line leaves a bound of another meter, in the middle of the tests, aside."""
    line, _ = fit_fade_line(TESTS, [point(5.5, bound_ah, kind=EvidenceKind.AT_LEAST, meter=2)])
    return line.at(5.5 * STEP_DAYS) == pytest.approx(100.0, abs=1e-6)


def test_a_bound_above_the_line_lifts_it_by_what_its_likelihood_says():
    # The level d above 100 Ah is sure within sqrt(2² + 0.5²/12) = 2.0052 with its meter, the bound,
    # 5 Ah above, within 0.5 and its own meter's error e, sure within 2. Where all is likeliest the
    # slopes agree: d / 2.0052² = e / 2² = the density over the chance at (d + e - 5) / 0.5, divided
    # by 0.5. That is 0.6775: d = 2.724, e = 2.710, 0.3387 at 0.868.
    line, _ = fit_fade_line(TESTS, [point(5.5, 105.0, kind=EvidenceKind.AT_LEAST, meter=2)])
    lifted = line.at(5.5 * STEP_DAYS) - 100
    assert lifted == pytest.approx(2.724, abs=0.002)
    # The likeliest gain stands for all likely ones. The mean over all of them, of a normal variable
    # cut off (d + e + 0.5 z > 5): a third of an ampere-hour more, and nearly the same doubt.
    whole = math.hypot(2.0052, WHOLE)
    cut = truncnorm(5 / whole, math.inf)
    assert lifted == pytest.approx(2.0052**2 / whole * cut.mean(), abs=0.35)
    rest = 1 - (2.0052 / whole) ** 2 * (1 - cut.var())
    assert line.se_at(5.5 * STEP_DAYS) == pytest.approx(2.0052 * math.sqrt(rest), rel=0.05)


def test_tests_without_a_stated_uncertainty_are_judged_by_their_scatter_alone():
    """Ordinary least squares: 100, 97 and 97 Ah a year apart leave 0.5, -1 and 0.5 Ah, 1.5 Ah² on
    one degree of freedom; the slope has sqrt(1.5 / 2) = 0.866 Ah a year."""
    tests = [
        TrendPoint(738_000 + 365.25 * i, ah, 0.0, 0.0, EvidenceKind.MEASURED)
        for i, ah in enumerate((100.0, 97.0, 97.0))
    ]
    line, _ = fit_fade_line(tests, [])
    assert per_year(line) == pytest.approx(0.8660, rel=1e-3)
    assert line.degrees_of_freedom == 1
