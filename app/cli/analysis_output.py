"""What the command line says of the readings in one file."""

import math
from dataclasses import asdict, dataclass
from pathlib import Path

from app.analysis.evidence.corrected import factor_of
from app.analysis.evidence.result import Result, analyse
from app.analysis.evidence.verdict import verdict
from app.analysis.plausibility.plausibility import doubts_about
from app.analysis.plausibility.questions import Known
from app.cli.file_options import ColumnOptions, doubted
from app.cli.output import Record, file_bytes
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterDetails
from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind, Finding
from app.domain.units.rounding import rounded_down
from app.domain.units.time_units import SECONDS_PER_HOUR
from app.ingest.opened_file import Opened
from app.ingest.row_reader import Imported


@dataclass(frozen=True)
class Given:
    """What the command line says of a discharge; charge is None where full is only assumed.

    battery is None where it does not say what its label does: then nothing can be corrected.
    """

    columns: ColumnOptions
    battery: BatteryDetails | None = None
    rated_ah: float | None = None
    cut_off_v: float | None = None
    end_reason: EndReason = EndReason.UNKNOWN
    ended_after_h: float | None = None
    charge: ChargeCondition | None = None
    meter: MeterDetails | None = None
    meant: bool = False


def analysis_records(file: Path, given: Given) -> list[Record]:
    """Analyse the discharge in one file, or each of them where all are meant.

    Raises InvalidInput, also for what can hardly be.
    """
    data = file_bytes(file)
    try:
        opened, every = given.columns.read(data, given.rated_ah)
    except InvalidInput as refused:
        # Here, because only a refused file needs what reads the other kind of table.
        from app.ingest.past_tests.kind_of_table import past_tests_elsewhere

        raise past_tests_elsewhere(data, given.columns.meant.sheet) or refused from None
    return [_record(file, given, opened, imported) for imported in every]


def _record(file: Path, given: Given, opened: Opened, imported: Imported) -> Record:
    rated_ah = given.rated_ah
    battery = given.battery
    ended_h = imported.ended_after_h if given.ended_after_h is None else given.ended_after_h
    known = Known(
        rated_ah=rated_ah,
        chemistry=None if battery is None else battery.chemistry,
        nominal_v=None if battery is None else battery.nominal_v,
        cut_off_v=given.cut_off_v,
        power_w=imported.power_w,
        ended_after_s=None if ended_h is None else ended_h * SECONDS_PER_HOUR,
    )
    doubts = () if given.meant else doubts_about(imported.readings, known)
    if doubts:
        raise doubted([doubt.sentence for doubt in doubts], opened)
    result = analyse(
        imported.readings,
        charge_condition=given.charge or ChargeCondition.FULL,
        end_reason=given.end_reason,
        cut_off_v=given.cut_off_v,
        empty_v=None if battery is None else battery.empty_v,
        ended_after_h=ended_h,
        meter=given.meter,
        rated_ah=rated_ah,
        battery=battery,
        meant=given.meant,
    )
    assumed = []
    if given.charge is None:
        words = "Assumes a full charge before the start: a file cannot say."
        assumed.append(Finding("charge_assumed", words, minor=True))
    if battery is None and result.kind is not EvidenceKind.UNUSABLE:
        assumed.append(_nothing_corrected(result))
    delivered, course = result.delivered, result.course
    assert course is not None  # A file has readings.
    gauge = result.gauge
    record: Record = {
        "file": str(file),
        "delivered_ah": delivered.charge_ah,
        "delivered_wh": delivered.energy_wh,
        "duration_s": course.duration_s,
        "mean_current_a": delivered.mean_current_a,
        "kind": result.kind.value,
        "lower_bound_ah": result.lower_ah if result.kind is EvidenceKind.AT_LEAST else None,
        "reasons": [reason.text for reason in result.evidence.reasons],
        "caveats": [caveat.text for caveat in (*result.caveats, *assumed)],
        "next_time": [advice.text for advice in result.evidence.next_time],
        "end_shift_ah": result.end.shift_ah,
        "end_note": result.end.note,
        "corrections": [
            {
                "code": one.code,
                "label": one.label,
                "factor": factor_of((one,), result.kind),
                "words": one.words,
                "source": one.source,
            }
            for one in result.corrections
        ],
        "capacity_ah": result.capacity_ah,
        "gauge": None if gauge is None else asdict(gauge),
        "budget": [asdict(line) for line in result.budget.lines],
        "degrees_of_freedom": result.budget.degrees_of_freedom,
        "coverage_factor": result.budget.coverage_factor,
        "standard_uncertainty_ah": result.budget.standard_ah,
        "expanded_uncertainty_ah": result.budget.expanded_ah,
        "assumptions": list(imported.assumptions),
    }
    if rated_ah is not None:
        found = verdict(
            result.kind,
            result.capacity_ah,
            result.budget,
            f"the rated {rated_ah:g} Ah",
            rated_ah,
        )
        record |= {
            "rated_ah": rated_ah,
            "share_of_rated": found.share,
            "probability_below_rated": found.probability_below,
            "verdict": found.words,
        }
    return record


def _nothing_corrected(result: Result) -> Finding:
    """What the result holds for alone, and the options that would say what the label means."""
    at = [f"{result.delivered.mean_current_a:.3g} A"]
    if result.temperature_c is not None:
        at.append(f"{result.temperature_c:.0f} °C")
    words = (
        f"Not corrected: the result holds for {' and '.join(at)}. A correction needs --rated-ah, "
        "--chemistry and --nominal-v."
    )
    return Finding("not_corrected", words)


def analysis_text(record: Record) -> str:
    """One file's record in words."""
    energy = record["delivered_wh"]
    # A lower bound says “at least” itself.
    kind = "" if record["kind"] == EvidenceKind.AT_LEAST else f": {record['kind']}"
    lines = [
        f"{record['file']}: {_charge_words(record)}"
        f"{'' if energy is None else f', {energy:.4g} Wh'}, "
        f"{record['duration_s'] / SECONDS_PER_HOUR:.2f} h at {record['mean_current_a']:.4g} A"
        f"{kind}",
        *(f"  {text}" for text in [*_steps(record), *record["reasons"], *record["caveats"]]),
    ]
    if "verdict" in record:
        lines.append(f"  {record['verdict']}.")
    return "\n".join(lines)


def _steps(record: Record) -> list[str]:
    """What lies between the amp-hours counted and the capacity; a caveat says the rest."""
    steps = []
    if record["end_note"]:
        steps.append(
            f"{record['delivered_ah']:.4g} Ah counted, {record['end_shift_ah']:+.2f} Ah for the "
            f"moment of the end ({record['end_note']})."
        )
    for one in record["corrections"]:
        if one["words"] not in record["caveats"]:
            steps.append(f"Correction × {one['factor']:.4f} ({one['label']}): {one['words']}")
    return steps


def _charge_words(record: Record) -> str:
    """The capacity with its interval, or the lower bound rounded down with what was counted."""
    counted = f"{record['delivered_ah']:.4g} Ah"
    expanded_ah = record["expanded_uncertainty_ah"]
    # Two figures of the uncertainty, and the value to the same place (GUM 7.2.6).
    digits = max(0, 1 - math.floor(math.log10(expanded_ah))) if expanded_ah else 1
    interval = f"± {expanded_ah:.{digits}f} Ah, very likely"
    if record["kind"] == EvidenceKind.MEASURED:
        return f"{record['capacity_ah']:.{digits}f} Ah {interval}"
    if record["kind"] == EvidenceKind.AT_LEAST:
        bound_ah = rounded_down(record["lower_bound_ah"], digits)
        return f"at least {bound_ah:.{digits}f} Ah ({counted} counted {interval})"
    return f"{counted} counted"
