import math

import pytest

from app.analysis.budget import Contribution, combine, rectangular, resolution
from app.analysis.delivered import deliver
from app.analysis.uncertainty import budget_of_test
from app.domain.meter import MeterDetails, MeterKind
from tests.builders import steady


def meter(gain=1.0, offset=0.05, step=0.1):
    return MeterDetails("m", MeterKind.SHUNT, gain, offset, step)


def line(budget, code):
    return next(line for line in budget.lines if line.code == code)


def test_limits_become_standard_uncertainties_as_the_gum_says():
    # GUM 4.3.7: 0.40e-6 -> 0.23e-6; F.2.2.1: a resolution of 1 -> 0.29.
    assert rectangular(0.40e-6) == pytest.approx(0.23e-6, abs=5e-9)
    assert resolution(1.0) == pytest.approx(0.29, abs=2e-3)


def test_the_end_gauge_of_gum_h1_comes_out_as_published():
    # GUM H.1: components 25, 5.8, 3.9, 6.7, 2.9, 16.6 nm (the last two without limit here but
    # 50 and 2 degrees of freedom in the table): u_c = 32 nm, 16 effective degrees of freedom,
    # U99 = 93 nm.
    parts = [(25, 18), (5.8, 24), (3.9, 5), (6.7, 8), (2.9, 50), (16.6, 2)]
    lines = tuple(Contribution(str(u), "", "", u, nu) for u, nu in parts)
    budget = combine(lines, level=0.99)
    assert round(budget.standard_ah) == 32
    assert budget.degrees_of_freedom == 16
    assert round(budget.coverage_factor, 2) == 2.92
    assert round(budget.coverage_factor * 32) == 93


def test_gain_grows_with_charge_and_offset_with_time():
    short = budget_of_test(deliver(steady(hours=5)), meter())
    long = budget_of_test(deliver(steady(hours=10)), meter())
    assert line(long, "gain").standard_ah == pytest.approx(2 * line(short, "gain").standard_ah)
    assert line(long, "offset").standard_ah == pytest.approx(0.05 * 10 / math.sqrt(3))


def test_the_meter_s_gain_is_kept_apart_from_what_is_not_shared():
    budget = budget_of_test(deliver(steady()), meter(gain=5.0))
    assert budget.independent_ah < budget.standard_ah
    assert budget.standard_ah**2 == pytest.approx(
        budget.independent_ah**2 + line(budget, "gain").standard_ah ** 2
    )


def test_not_noting_the_end_costs_an_interval():
    readings = steady(last_v=12.6)
    noted = budget_of_test(deliver(readings, ended_after_s=10.5 * 3600), meter())
    open_end = budget_of_test(deliver(readings), meter())
    assert line(open_end, "end").standard_ah == pytest.approx(9 / math.sqrt(3))
    assert line(noted, "end").standard_ah < 0.1
    assert open_end.largest.code == "end"
