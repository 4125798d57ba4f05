"""A counter's amp-hours are taken as they stand: last minus first."""

import math

import pytest

from app.analysis.evidence.result import analyse
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind, typical
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings
from app.ingest.reader import read_file

# 96 Ah between 0 and 10 h: noted often at first, then hardly.
HOURS = (0, 0.1, 0.2, 0.3, 2.0, 9.5, 10.0)
COUNT = (0.0, 2.0, 2.4, 3.0, 20.0, 91.0, 96.0)
EMPTY = {"charge_condition": ChargeCondition.FULL_RESTED, "end_reason": EndReason.PROTECTION}


def of_counter(count=COUNT, current=None, hours=HOURS, **about):
    readings = Readings.of(
        [3600 * h for h in hours],
        current or [count[-1] / 10] * len(hours),
        counted_ah=count,
    )
    return analyse(readings, **EMPTY, **about)


def counter_file(hours=HOURS, count=COUNT):
    rows = "\n".join(f"{h},{c}" for h, c in zip(hours, count, strict=True))
    return read_file(f"time (h),Ah\n{rows}\n".encode()).readings


def test_a_counter_noted_unevenly_gives_what_it_counted():
    result = analyse(counter_file(), **EMPTY)
    assert result.delivered.charge_ah == pytest.approx(96)
    assert result.kind is EvidenceKind.MEASURED


def test_two_figures_of_a_counter_are_a_test():
    result = analyse(counter_file((0, 10.5), (12.0, 108.0)), **EMPTY)
    assert result.delivered.charge_ah == pytest.approx(96)
    assert result.delivered.mean_current_a == pytest.approx(96 / 10.5)
    assert result.kind is EvidenceKind.MEASURED
    assert not {"gap", "coarse"} & {caveat.code for caveat in result.caveats}


def test_a_counter_of_what_is_left_falls_and_counts_the_same():
    left = [100 - count for count in COUNT]
    assert analyse(counter_file(HOURS, left), **EMPTY).delivered.charge_ah == pytest.approx(96)


def test_a_counter_beside_a_current_counts_and_the_current_stays():
    # Whenever somebody looked, the compressor of 20 A was off.
    current = [5.0, 5.0, 6.0, 6.0, 5.0, 5.0, 5.0]
    result = of_counter(current=current)
    assert result.delivered.charge_ah == pytest.approx(96)
    assert list(result.delivered.current_a) == current


def test_its_own_limits_are_its_uncertainty():
    meter = typical(MeterKind.GAUGE)
    lines = {line.code: line for line in of_counter(meter=meter).budget.lines}
    assert "sampling" not in lines
    # 3 % of what is counted up to the end, which is half an interval late, and steps of 0.2 Ah.
    assert lines["gain"].standard_ah == pytest.approx(0.03 * 96 / math.sqrt(3), rel=0.06)
    assert lines["counter"].standard_ah == pytest.approx(0.2 / math.sqrt(3))


@pytest.mark.parametrize(
    ("count", "code"),
    [
        ((0, 2, 2.4, 3, 20, 2, 7), "counter_reset"),
        ((0, 2, 2.4, None, 20, 91, 96), "counter_gaps"),
        (tuple(1000 * c for c in COUNT), "counter_contradicts"),
    ],
)
def test_a_counter_that_cannot_be_is_not_used_and_said(count, code):
    result = of_counter(count, current=[9.6] * 7)
    assert result.delivered.charge_ah == pytest.approx(96)
    assert code in {caveat.code for caveat in result.caveats}


def test_a_coarse_counter_makes_no_jumps_of_the_current():
    """Whole amp-hours once a minute at 9 A: six or seven minutes between two steps."""
    minutes = range(600)
    readings = counter_file([m / 60 for m in minutes], [float(m * 9 // 60) for m in minutes])
    inside = list(readings.current_a)[10:580]
    assert min(inside) > 8.5
    assert max(inside) < 10.1


@pytest.mark.parametrize("count", [(0, 2, 3, 2, 20, 91, 96), (0, 2, 2.4, 2.25, 20, 91, 96)])
def test_a_counter_that_goes_back_by_its_last_digit_or_by_next_to_nothing_counts(count):
    """By one of its whole amp-hours; by 0.15 Ah in steps of 0.05, less than 0.2 % of 96 Ah."""
    result = of_counter(count)
    assert result.delivered.charge_ah == pytest.approx(96)
    assert "counter_reset" not in {caveat.code for caveat in result.caveats}
