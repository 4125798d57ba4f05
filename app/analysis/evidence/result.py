"""The result of one capacity test: all that is derived from what was entered."""

from dataclasses import dataclass, replace

import numpy as np

from app.analysis.corrections.reference_conditions import Correction
from app.analysis.counting.delivered import Delivered, deliver
from app.analysis.counting.noted_charge import NotedCharge, noted_charge, refuse_result
from app.analysis.counting.tail import most_left_ah
from app.analysis.evidence import uncertainty
from app.analysis.evidence.conditions import DischargeConditions
from app.analysis.evidence.corrected import (
    correction_lines,
    corrections_of,
    factor_of,
    uncorrected,
)
from app.analysis.evidence.evidence import Evidence, classify, only_what_was_counted
from app.analysis.evidence.gauge import Gauge, compare_gauge
from app.analysis.evidence.next_time import note_more
from app.analysis.evidence.noted_uncertainty import noted_lines
from app.analysis.evidence.swinging_load import swinging_load
from app.analysis.evidence.uncertainty import End
from app.analysis.evidence.unusable import MAX_OF_RATED
from app.analysis.statistics.budget import Budget, combine
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, DischargeDetails, EndReason
from app.domain.entities.meter import MeterDetails, MeterKind, typical
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.units.time_units import SECONDS_PER_HOUR

METHOD_VERSION = 6
# The lines of a budget that stand for the moment of the end.
ENDS = ("end", "tail")


@dataclass(frozen=True)
class Result:
    """What one test delivered, what that proves and how sure it is.

    capacity_ah is the capacity at reference conditions, or its lower bound where the evidence is
    "at least"; delivered.charge_ah is what was counted.
    """

    delivered: Delivered | NotedCharge
    evidence: Evidence
    gauge: Gauge | None
    end: End
    corrections: tuple[Correction, ...]
    capacity_ah: float
    temperature_c: float | None
    temperature_source: str
    budget: Budget
    caveats: tuple[Finding, ...]
    method_version: int = METHOD_VERSION

    @property
    def lower_ah(self) -> float:
        """What was there with 95 % confidence at the least."""
        return max(0.0, self.capacity_ah - self.budget.expanded_ah)

    @property
    def course(self) -> Delivered | None:
        """What was counted reading by reading; None where only the result was noted."""
        return self.delivered if isinstance(self.delivered, Delivered) else None

    @property
    def kind(self) -> EvidenceKind:
        return self.evidence.kind


def analyse(
    readings: Readings,
    *,
    charge_condition: ChargeCondition = ChargeCondition.FULL,
    end_reason: EndReason = EndReason.UNKNOWN,
    cut_off_v: float | None = None,
    empty_v: float | None = None,
    ended_after_h: float | None = None,
    ambient_c: float | None = None,
    meter: MeterDetails | None = None,
    rated_ah: float | None = None,
    battery: BatteryDetails | None = None,
    meant: bool = False,
) -> Result:
    """Analyse one discharge. Voltages are terminal voltages under load (V).

    Where its owner meant every current, the one that looks like a slip counts as it stands.

    Without a battery nothing is corrected to reference conditions. Raises InvalidInput where the
    readings are no discharge (see deliver).
    """
    unnamed = meter is None
    meter = meter or typical(MeterKind.SHUNT)
    delivered = deliver(
        readings,
        cut_off_v=cut_off_v,
        empty_v=empty_v,
        ended_after_s=None if ended_after_h is None else ended_after_h * SECONDS_PER_HOUR,
        nominal_v=None if battery is None else battery.nominal_v,
        meant=meant,
        rest_a=meter.rest_a,
    )
    caveats = list(delivered.caveats)
    if unnamed:
        caveats.append(meter_assumed())
    temperature_c, source = _temperature(readings, delivered, ambient_c)
    about = DischargeConditions(
        charge_condition, end_reason, cut_off_v, empty_v, rated_ah, temperature_c
    )
    gauge = compare_gauge(readings, delivered, meter)
    evidence = classify(delivered, about, gauge)
    corrections = (
        ()
        if battery is None
        else corrections_of(battery, delivered.mean_current_a, temperature_c, source)
    )
    caveats += uncorrected(corrections)
    end = _end(delivered, evidence.kind, about, battery)
    factor = factor_of(corrections, evidence.kind)
    capacity_ah = (delivered.charge_ah + end.shift_ah) * factor
    if rated_ah is not None and capacity_ah > MAX_OF_RATED * rated_ah:
        # What was counted could be, what is added to it could not.
        evidence = only_what_was_counted(evidence, capacity_ah, rated_ah)
        end = _end(delivered, evidence.kind, about, battery)
        factor = factor_of(corrections, evidence.kind)
        capacity_ah = delivered.charge_ah * factor
    hours = delivered.duration_s / SECONDS_PER_HOUR
    lines = [
        *uncertainty.meter_lines(meter, capacity_ah, hours, factor),
        uncertainty.sampling_line(delivered, factor),
    ]
    if evidence.kind is EvidenceKind.MEASURED:
        lines.append(uncertainty.end_line(end, factor))
        lines.append(uncertainty.charge_line(charge_condition, capacity_ah))
    lines += correction_lines(corrections, evidence.kind, capacity_ah)
    budget = combine(tuple(lines))
    caveats += swinging_load(delivered, evidence.kind, capacity_ah, budget)
    if end_reason.claims_empty:
        advice = _note_the_minute(delivered, budget, factor)
        evidence = replace(evidence, next_time=(*evidence.next_time, *advice))
    return Result(
        delivered=delivered,
        evidence=evidence,
        gauge=gauge,
        end=end,
        corrections=corrections,
        capacity_ah=capacity_ah,
        temperature_c=temperature_c,
        temperature_source=source,
        budget=budget,
        caveats=tuple(caveats),
    )


def analyse_test(
    test: DischargeDetails, battery: BatteryDetails, meter: MeterDetails | None
) -> Result:
    """Analyse a test of a known battery. The test's own cut-off voltage goes first.

    Raises InvalidInput where it can be none.
    """
    if test.is_only_result:
        return analyse_noted(test, battery, meter)
    refuse_result(test)
    return analyse(
        test.readings,
        charge_condition=test.charge_condition,
        end_reason=test.end_reason,
        cut_off_v=test.cut_off_v or battery.cut_off_v,
        empty_v=battery.empty_v,
        ended_after_h=test.ended_after_h,
        ambient_c=test.ambient_c,
        meter=meter,
        rated_ah=battery.rated_ah,
        battery=battery,
    )


def analyse_noted(
    test: DischargeDetails, battery: BatteryDetails, meter: MeterDetails | None
) -> Result:
    """Analyse a test of which only the result was noted: the same rules, a wider doubt.

    Raises InvalidInput where there is no charge in it (see noted_charge).
    """
    noted = noted_charge(test)
    caveats = [] if meter is not None else [meter_assumed()]
    meter = meter or typical(MeterKind.SHUNT)
    temperature_c, source = (test.ambient_c, "air") if test.ambient_c is not None else (None, "")
    about = DischargeConditions(
        test.charge_condition,
        test.end_reason,
        test.cut_off_v or battery.cut_off_v,
        battery.empty_v,
        battery.rated_ah,
        temperature_c,
    )
    evidence = classify(noted, about, None)
    corrections = corrections_of(battery, noted.mean_current_a, temperature_c, source)
    factor = factor_of(corrections, evidence.kind)
    capacity_ah = noted.charge_ah * factor
    if capacity_ah > MAX_OF_RATED * battery.rated_ah:
        evidence = only_what_was_counted(evidence, capacity_ah, battery.rated_ah)
        factor = factor_of(corrections, evidence.kind)
        capacity_ah = noted.charge_ah * factor
    lines = noted_lines(noted, meter, battery, evidence.kind, test.charge_condition, factor)
    lines += correction_lines(corrections, evidence.kind, capacity_ah)
    return Result(
        delivered=noted,
        evidence=replace(evidence, next_time=(*evidence.next_time, *note_more())),
        gauge=None,
        end=End(0.0, 0.0, ""),
        corrections=corrections,
        capacity_ah=capacity_ah,
        temperature_c=temperature_c,
        temperature_source=source,
        budget=combine(tuple(lines)),
        caveats=(*caveats, *uncorrected(corrections)),
    )


def meter_assumed() -> Finding:
    return Finding(
        "meter_assumed", say("No meter was named: Fadeline uses the limits of a typical shunt.")
    )


def _temperature(
    readings: Readings, delivered: Delivered, ambient_c: float | None
) -> tuple[float | None, str]:
    """The battery's mean temperature over the run, else the air's, else nothing."""
    rows = slice(delivered.first_row, delivered.last_row + 1)
    known = np.asarray(readings.temperature_c, dtype=np.float64)[rows]
    known = known[np.isfinite(known)]
    if known.size:
        return float(known.mean()), "battery"
    return (ambient_c, "air") if ambient_c is not None else (None, "")


def _end(
    delivered: Delivered,
    kind: EvidenceKind,
    about: DischargeConditions,
    battery: BatteryDetails | None,
) -> End:
    """Only a measurement has an end to place; a lower bound is what was counted."""
    if kind is not EvidenceKind.MEASURED:
        return End(0.0, 0.0, "")
    limit = about.empty_v if about.cut_off_v is None else about.cut_off_v
    last_v = delivered.last_voltage_v
    return uncertainty.end_of_test(
        delivered,
        claimed=about.end_reason.claims_empty,
        cut_off_v=about.cut_off_v,
        empty_v=limit,
        left_ah=None
        if battery is None or last_v is None
        else most_left_ah(battery, last_v, delivered.end_current_a),
    )


def _note_the_minute(delivered: Delivered, budget: Budget, factor: float) -> tuple[Finding, ...]:
    """Advice where the moment of the end is the largest doubt, with what noting it would gain."""
    if delivered.end_noted or delivered.reached_cut_off or budget.largest.code not in ENDS:
        return ()
    noted = uncertainty.end_line(uncertainty.noted_end(delivered), factor)
    lines = tuple(noted if one.code in ENDS else one for one in budget.lines)
    words = say(
        "Next time, note the minute in which it switches itself off: with it, this result would "
        "have been good to ± {with_ah:.1f} Ah instead of ± {without_ah:.1f} Ah.",
        with_ah=combine(lines).expanded_ah,
        without_ah=budget.expanded_ah,
    )
    return (Finding("note_minute", words),)
