"""The form of a capacity test: conditions and readings, typed, pasted or from a file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from app.analysis.discharge_report import DischargeReport
from app.domain import quantity
from app.domain.battery import Battery
from app.domain.discharge import ChargeCondition, DischargeDetails, EndReason
from app.domain.errors import Problem, Refused
from app.domain.meter import Meter, MeterKind, typical
from app.domain.readings import Readings
from app.services.meters import MeterChoice
from app.services.staging import ColumnUse, Imported, read_staged, read_typed
from app.services.store import Store
from app.web.form import FormReader

TYPED_COLUMNS = ("time", "current", "voltage", "temperature", "gauge")
FIRST_ROWS = 12
MORE_ROWS = 6
MOST_TYPED_ROWS = 400
# A test with more readings than this came from a logger: its readings are kept, not retyped.
MOST_EDITED_ROWS = 60


@dataclass(frozen=True)
class Preview:
    """What was understood, before anything is stored."""

    report: DischargeReport
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class DischargeFormPage:
    """What discharge_form.html needs. discharge_id is None for a new test."""

    battery: Battery
    discharge_id: int | None
    kept_readings: int | None
    values: Mapping[str, str]
    rows: tuple[tuple[str, ...], ...]
    problems: tuple[Problem, ...]
    meter_options: tuple[tuple[str, str], ...]
    staged: str
    imported: Imported | None
    preview: Preview | None
    charge_conditions: tuple[ChargeCondition, ...] = tuple(ChargeCondition)
    end_reasons: tuple[EndReason, ...] = tuple(EndReason)
    column_uses: tuple[ColumnUse, ...] = tuple(ColumnUse)
    columns: tuple[str, ...] = TYPED_COLUMNS


@dataclass(frozen=True)
class Given:
    """A test as the form gives it, ready to be tried or stored."""

    details: DischargeDetails
    meter: MeterChoice


def meter_options(meters: Sequence[Meter]) -> tuple[tuple[str, str], ...]:
    """The owner's meters, then a typical one of every kind that is not among them."""
    known = [(str(meter.id), meter.details.name) for meter in meters]
    stored = [meter.details for meter in meters]
    kinds = [kind for kind in MeterKind if typical(kind) not in stored]
    return (*known, *((kind.value, f"typical: {kind.label}") for kind in kinds))


def typed_rows(values: Mapping[str, str]) -> tuple[tuple[str, ...], ...]:
    """The table of typed readings, as many rows as the form had (at least the first dozen)."""
    try:
        count = int(values.get("rows", ""))
    except ValueError:
        count = FIRST_ROWS
    count = min(max(count, FIRST_ROWS), MOST_TYPED_ROWS)
    return tuple(
        tuple(values.get(f"{name}_{i}", "").strip() for name in TYPED_COLUMNS) for i in range(count)
    )


def chosen_uses(values: Mapping[str, str]) -> list[ColumnUse] | None:
    """What the preview's owner takes each column for; None where it was not asked yet."""
    uses: list[ColumnUse] = []
    while (value := values.get(f"use_{len(uses)}")) is not None:
        try:
            uses.append(ColumnUse(value))
        except ValueError:
            allowed = ", ".join(use.value for use in ColumnUse)
            raise Refused.because("columns", value, f"one of: {allowed}", "file") from None
    return uses or None


def read_source(
    store: Store, values: Mapping[str, str], staged: str, kept: Readings | None
) -> tuple[Imported | None, Readings]:
    """The readings of the form: a staged file first, then the typed rows, then what was kept."""
    if staged:
        imported = read_staged(store, staged, chosen_uses(values))
        return imported, imported.readings
    rows = typed_rows(values)
    if kept is not None and not any(any(row) for row in rows):
        return None, kept
    return None, read_typed(rows).readings


def read_discharge(
    values: Mapping[str, str], readings: Readings, imported: Imported | None
) -> Given:
    """The whole test. Raises Refused with every problem of the form."""
    form = FormReader(values)
    started = _started(form, imported)
    source = form.text("source", "file name", 200) or ("typed" if imported is None else "pasted")
    details = DischargeDetails(
        started_at=started.astimezone(UTC),
        utc_offset_minutes=_offset_minutes(started),
        charge_condition=form.choice("charge_condition", "charge before the test", ChargeCondition),
        end_reason=form.choice("end_reason", "why the test ended", EndReason),
        readings=readings,
        ended_after_h=form.optional_number("ended_after_h", quantity.ENDED_AFTER),
        cut_off_v=form.optional_number("cut_off_v", quantity.CUT_OFF_VOLTAGE),
        ambient_c=form.optional_number("ambient_c", quantity.AMBIENT_TEMPERATURE),
        load=form.text("load", "load", 200),
        notes=form.text("notes", "notes", 4000),
        source=source,
        assumptions=() if imported is None else imported.assumptions,
    )
    meter = _meter(form)
    form.finish()
    return Given(details, meter)


def discharge_values(details: DischargeDetails) -> dict[str, str]:
    """What the form shows of a stored test; typed rows only where they are few."""

    def shown(value: float | None) -> str:
        return "" if value is None else f"{value:.10g}"

    values = {
        "started_at": details.started_local.replace(tzinfo=None).isoformat(timespec="seconds"),
        "charge_condition": details.charge_condition.value,
        "end_reason": details.end_reason.value,
        "ended_after_h": shown(details.ended_after_h),
        "cut_off_v": shown(details.cut_off_v),
        "ambient_c": shown(details.ambient_c),
        "meter": str(details.meter_id or ""),
        "load": details.load,
        "notes": details.notes,
        "source": details.source,
    }
    if len(details.readings) <= MOST_EDITED_ROWS:
        values |= _row_values(details.readings)
    return values


def _row_values(readings: Readings) -> dict[str, str]:
    values = {"rows": str(len(readings) + 2)}
    columns = (
        readings.current_a,
        readings.voltage_v,
        readings.temperature_c,
        readings.gauge_percent,
    )
    for i, elapsed in enumerate(readings.elapsed_s):
        values[f"time_{i}"] = _span(elapsed)
        for name, column in zip(TYPED_COLUMNS[1:], columns, strict=True):
            values[f"{name}_{i}"] = "" if column[i] != column[i] else f"{column[i]:.10g}"
    return values


def _span(seconds: float) -> str:
    hours, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    tail = f":{left:06.3f}".rstrip("0").rstrip(".") if left else ""
    return f"{hours:.0f}:{minutes:02.0f}{tail}"


def _started(form: FormReader, imported: Imported | None) -> datetime:
    """The typed start, else the one in the file."""
    in_file = None if imported is None else imported.started_at
    if not form.raw("started_at") and in_file is not None:
        return in_file if in_file.tzinfo else in_file.astimezone()
    return form.moment("started_at", "start of the test")


def _offset_minutes(started: datetime) -> int:
    offset = started.astimezone().utcoffset()
    return 0 if offset is None else round(offset.total_seconds() / 60)


def _meter(form: FormReader) -> MeterChoice:
    text = form.raw("meter")
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    return form.choice("meter", "meter", MeterKind)
