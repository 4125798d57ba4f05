"""Everything one test's page, chart and JSON show, computed once."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from app.analysis.corrections.reference_conditions import Correction
from app.analysis.counting.delivered import Delivered
from app.analysis.evidence.expectation import Expectation
from app.analysis.evidence.gauge import Gauge
from app.analysis.evidence.next_time import against_doubt
from app.analysis.evidence.result import Result
from app.analysis.evidence.verdict import EarlierTest, Verdict, since, verdicts
from app.analysis.statistics.budget import Contribution
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.domain.entities.meter import Meter
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import joined, say
from app.domain.units.rounding import rounded_down
from app.domain.units.time_units import SECONDS_PER_HOUR

ROWS_SHOWN = 200


@dataclass(frozen=True)
class Row:
    """One reading beside what the label lets one expect at that moment.

    remaining_ah is the rated capacity less the charge counted; expected_ah the rated capacity less
    mean current x time; gauge_ah the gauge's percentage of the rated capacity, which is what the
    gauge says and no measurement.
    """

    number: int
    elapsed_h: float
    at: datetime
    current_a: float
    voltage_v: float | None
    temperature_c: float | None
    gauge_percent: float | None
    counted_ah: float
    remaining_ah: float
    expected_ah: float
    difference_ah: float
    difference_percent: float
    gauge_ah: float | None
    gauge_difference_percent: float | None


@dataclass(frozen=True)
class DischargeReport:
    """One test with its result. Capacities in Ah; expanded_ah at 95 %.

    capacity_ah is at reference conditions (or the lower bound), delivered_ah as counted;
    since_last compares with the measured test before, empty where there is none. meter_limits are
    the meter's kind and limits in words, without its name.
    """

    id: int
    battery_id: int
    battery_name: str
    started_at: datetime
    charge_condition: str
    end_reason: str
    load: str
    meter: str
    ambient_c: float | None
    source: str
    assumptions: tuple[str, ...]
    kind: EvidenceKind
    reasons: tuple[Finding, ...]
    caveats: tuple[Finding, ...]
    next_time: tuple[Finding, ...]
    gauge: Gauge | None
    capacity_ah: float
    end_shift_ah: float
    end_note: str
    corrections: tuple[Correction, ...]
    delivered_ah: float
    delivered_wh: float | None
    duration_h: float | None
    mean_current_a: float | None
    temperature_c: float | None
    temperature_source: str
    standard_ah: float
    expanded_ah: float
    lower_ah: float
    coverage_factor: float
    degrees_of_freedom: int | None
    independent_ah: float
    budget: tuple[Contribution, ...]
    advice: str
    rated_ah: float
    reserve_share: float
    expected_run_time_h: float | None
    expected_run_time_to_empty_h: float | None
    verdicts: tuple[Verdict, ...]
    rows: tuple[Row, ...]
    rows_in_all: int
    only_result: bool
    since_last: str = ""
    meter_limits: str = ""

    @property
    def headline(self) -> str:
        if self.kind is EvidenceKind.MEASURED:
            return say(
                "Measured {capacity_ah:.1f} Ah ± {expanded_ah:.1f} Ah",
                capacity_ah=self.capacity_ah,
                expanded_ah=self.expanded_ah,
            )
        if self.kind is EvidenceKind.AT_LEAST:
            return say("At least {lower_ah:.1f} Ah", lower_ah=rounded_down(self.lower_ah))
        return say("Unusable")


def discharge_report(
    test: Discharge,
    battery: Battery,
    meter: Meter | None,
    result: Result,
    first: EarlierTest | None = None,
    last: EarlierTest | None = None,
) -> DischargeReport:
    """Build the report of one test; first and last are the battery's measured tests before it."""
    details, about, delivered = test.details, battery.details, result.delivered
    mean_a = delivered.mean_current_a
    expected = None if mean_a is None else Expectation(about.rated_ah, about.reserve_share, mean_a)
    course = result.course
    rows = () if course is None or expected is None else _rows(test, course, expected)
    return DischargeReport(
        id=test.id,
        battery_id=battery.id,
        battery_name=about.name,
        started_at=details.started_local,
        charge_condition=details.charge_condition.label,
        end_reason=details.end_reason.label,
        load=details.load,
        meter="" if meter is None else meter.details.shown_name,
        ambient_c=details.ambient_c,
        source=details.source,
        assumptions=details.assumptions,
        kind=result.kind,
        reasons=result.evidence.reasons,
        caveats=result.caveats,
        next_time=result.evidence.next_time,
        gauge=result.gauge,
        capacity_ah=result.capacity_ah,
        end_shift_ah=result.end.shift_ah,
        end_note=result.end.note,
        corrections=result.corrections,
        delivered_ah=delivered.charge_ah,
        delivered_wh=delivered.energy_wh,
        duration_h=delivered.duration_h,
        mean_current_a=delivered.mean_current_a,
        temperature_c=result.temperature_c,
        temperature_source=result.temperature_source,
        standard_ah=result.budget.standard_ah,
        expanded_ah=result.budget.expanded_ah,
        lower_ah=result.lower_ah,
        coverage_factor=result.budget.coverage_factor,
        degrees_of_freedom=result.budget.degrees_of_freedom,
        independent_ah=result.budget.independent_ah,
        budget=result.budget.lines,
        advice=_advice(result),
        rated_ah=about.rated_ah,
        reserve_share=about.reserve_share,
        expected_run_time_h=None if expected is None else expected.run_time_h,
        expected_run_time_to_empty_h=None if expected is None else expected.run_time_to_empty_h,
        verdicts=verdicts(result, about.rated_ah, about.usable_ah, first),
        rows=rows,
        rows_in_all=len(details.readings),
        only_result=details.is_only_result,
        since_last="" if last is None else since(result, last),
        meter_limits="" if meter is None else meter.details.limits_words,
    )


def first_measured(
    tests: Iterable[tuple[Discharge, Result]], test: Discharge
) -> EarlierTest | None:
    """The first measured of a battery's tests, in order of their start, where that is an earlier
    one than this."""
    for earlier, result in tests:
        if earlier.details.started_at >= test.details.started_at:
            return None
        if result.kind is EvidenceKind.MEASURED:
            return _as_earlier(earlier, result, test)
    return None


def last_measured(
    newest_first: Iterable[tuple[Discharge, Result]], test: Discharge
) -> EarlierTest | None:
    """The measured test before this one, among the battery's from the newest to the oldest; those
    that the owner left out of the fade are passed over."""
    for earlier, result in newest_first:
        is_before = earlier.details.started_at < test.details.started_at
        if (
            is_before
            and result.kind is EvidenceKind.MEASURED
            and not earlier.details.left_out_reason
        ):
            return _as_earlier(earlier, result, test)
    return None


def _as_earlier(earlier: Discharge, result: Result, test: Discharge) -> EarlierTest:
    return EarlierTest(
        on_date=earlier.details.started_local.date(),
        capacity_ah=result.capacity_ah,
        standard_ah=result.budget.standard_ah,
        independent_ah=result.budget.independent_ah,
        rate_ah=result.budget.rate_ah,
        same_meter=earlier.details.meter_id == test.details.meter_id,
        degrees_of_freedom=result.budget.degrees_of_freedom,
    )


def _rows(test: Discharge, delivered: Delivered, expectation: Expectation) -> tuple[Row, ...]:
    """The readings under load, thinned evenly where a logger left thousands."""
    readings = test.details.readings
    count = len(delivered.time_s)
    rated = expectation.rated_ah
    made = []
    for position in evenly(count, ROWS_SHOWN):
        index = delivered.first_row + position
        # The load came on between two readings: what went before that moment is no run time.
        hours = max(0.0, float(delivered.time_s[position]) - delivered.start_s) / SECONDS_PER_HOUR
        counted, expected = float(delivered.count_ah[position]), expectation.remaining_ah(hours)
        gauge = _known(readings.gauge_percent[index])
        remaining = rated - counted
        made.append(
            Row(
                number=index + 1,
                elapsed_h=hours,
                at=test.details.started_local + timedelta(seconds=readings.elapsed_s[index]),
                current_a=float(delivered.current_a[position]),
                voltage_v=_known(readings.voltage_v[index]),
                temperature_c=_known(readings.temperature_c[index]),
                gauge_percent=gauge,
                counted_ah=counted,
                remaining_ah=remaining,
                expected_ah=expected,
                difference_ah=remaining - expected,
                difference_percent=100 * (remaining - expected) / rated,
                gauge_ah=None if gauge is None else gauge / 100 * rated,
                gauge_difference_percent=(
                    None if gauge is None else gauge - 100 * expected / rated
                ),
            )
        )
    return tuple(made)


def evenly(count: int, most: int) -> list[int]:
    """Positions 0 to count - 1, thinned evenly to at most so many, first and last among them."""
    if count <= most:
        return list(range(count))
    return sorted(set(np.linspace(0, count - 1, most).astype(int).tolist()))


def _known(value: float) -> float | None:
    return None if value != value else float(value)


def _advice(result: Result) -> str:
    largest = result.budget.largest
    words = say(
        "The largest source of doubt is “{source}” (± {standard_ah:.2g} Ah as a standard "
        "uncertainty).",
        source=largest.label,
        standard_ah=largest.standard_ah,
    )
    return joined(" ", (words, against_doubt(largest.code)))
