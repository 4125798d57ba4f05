"""The form of a capacity test: conditions and readings, typed, pasted or from a file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

from app.analysis.reports.discharge_report import DischargeReport
from app.charts.chart import Chart
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import ChargeCondition, DischargeDetails, EndReason
from app.domain.entities.meter import Meter, MeterKind, typical
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.limits import MAX_LINE_LENGTH
from app.domain.local_clock import offset_minutes
from app.domain.readings import Readings, column
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.domain.units.column import (
    DELIMITERS,
    FOLDED_COLUMN,
    TYPED_COLUMNS,
    ColumnUse,
    CsvDialect,
    DayOrder,
)
from app.domain.units.time_units import EARLIEST_YEAR, since_midnight_s
from app.domain.units.unit import as_clock_span
from app.services.entities.doubts import StorageQuestion
from app.services.entities.imports import ComingTest
from app.services.entities.meters import MeterChoice
from app.services.exchange.staged_upload import Source, StagedUpload
from app.web.forms.described_form import AskedField, asked_fields, read_fields, shown_fields
from app.web.forms.form_reader import FormReader
from app.web.forms.noted_result_form import day_noted

PASTED = N_("pasted")
FIRST_ROWS = 12
MORE_ROWS = 6
MAX_TYPED_ROWS = 400
# A test with more readings than this came from a logger: its readings are kept, not retyped.
MAX_EDITED_ROWS = 60
SAME_MINUTE_S = 60.0
DECIMALS = {".": N_("a point"), ",": N_("a comma")}
DAY_ORDERS = {
    "": N_("as found"),
    DayOrder.DAY_FIRST.value: N_("day before month"),
    DayOrder.MONTH_FIRST.value: N_("month before day"),
}
SAME_START = timedelta(minutes=5)


def _said(choices: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple((value, say(text)) for value, text in choices.items())


@dataclass(frozen=True)
class DischargeFormPage:
    """What discharge_form.html needs. discharge_id is None for a new test.

    report and course show what the test would prove, None where it cannot be told yet; assumptions
    are those of the file. again says, by field, which earlier test a value is taken from; questions
    are what can hardly be. counter says whether the column of a counter is there, noted whether a
    result without readings was typed.
    """

    battery: Battery
    discharge_id: int | None
    kept_readings: int | None
    values: Mapping[str, str]
    rows: tuple[tuple[str, ...], ...]
    problems: tuple[FieldError, ...]
    meter_options: tuple[tuple[str, str], ...]
    staged: StagedUpload | None
    report: DischargeReport | None
    course: Chart | None
    assumptions: tuple[str, ...]
    again: Mapping[str, str]
    questions: tuple[StorageQuestion, ...]
    several: tuple[ComingTest, ...]
    counter: bool
    noted: bool
    fields: Mapping[str, AskedField] = field(default_factory=lambda: asked_fields(DischargeDetails))
    charge_conditions: tuple[ChargeCondition, ...] = tuple(ChargeCondition)
    end_reasons: tuple[EndReason, ...] = tuple(EndReason)
    column_uses: tuple[ColumnUse, ...] = tuple(ColumnUse)
    columns: tuple[str, ...] = TYPED_COLUMNS
    folded_column: str = FOLDED_COLUMN
    upload_limit_mb: int = UPLOAD_LIMIT_MB
    delimiters: tuple[tuple[str, str], ...] = field(default_factory=lambda: _said(DELIMITERS))
    decimals: tuple[tuple[str, str], ...] = field(default_factory=lambda: _said(DECIMALS))
    day_orders: tuple[tuple[str, str], ...] = field(default_factory=lambda: _said(DAY_ORDERS))


@dataclass(frozen=True)
class Given:
    """A test as the form gives it, ready to be tried or stored."""

    details: DischargeDetails
    meter: MeterChoice


def meter_options(meters: Sequence[Meter]) -> tuple[tuple[str, str], ...]:
    """The owner's meters, then a typical one of every kind that is not among them."""
    known = [(str(meter.id), meter.details.shown_name) for meter in meters]
    stored = [meter.details for meter in meters]
    kinds = [kind for kind in MeterKind if typical(kind) not in stored]
    return (*known, *((kind.value, say("typical: {meter}", meter=kind.label)) for kind in kinds))


def typed_rows(values: Mapping[str, str]) -> tuple[tuple[str, ...], ...]:
    """The table of typed readings, as many rows as the form had (at least the first dozen)."""
    try:
        count = int(values.get("rows", ""))
    except ValueError:
        count = FIRST_ROWS
    count = min(max(count, FIRST_ROWS), MAX_TYPED_ROWS)
    return tuple(
        tuple(values.get(f"{name}_{i}", "").strip() for name in TYPED_COLUMNS) for i in range(count)
    )


def shows_counter(values: Mapping[str, str]) -> bool:
    """Whether the counter's column is there: it was asked for, or something stands in it."""
    counter = TYPED_COLUMNS.index(FOLDED_COLUMN)
    return bool(values.get(FOLDED_COLUMN)) or any(row[counter] for row in typed_rows(values))


def check_row_count(values: Mapping[str, str]) -> None:
    """Refuse more rows than the table holds, rather than cut them off."""
    last = f"{TYPED_COLUMNS[0]}_{MAX_TYPED_ROWS}"
    if values.get(last, "").strip():
        allowed = say(
            "at most {count} typed rows; paste longer tables as columns",
            count=MAX_TYPED_ROWS,
        )
        raise InvalidInput.because(say("readings"), values[last], allowed, "readings")


def chosen_uses(values: Mapping[str, str]) -> list[ColumnUse] | None:
    """What the preview's owner takes each column for; None where it was not asked yet."""
    uses: list[ColumnUse] = []
    while (value := values.get(f"use_{len(uses)}")) is not None:
        try:
            uses.append(ColumnUse(value))
        except ValueError:
            allowed = say("one of: {choices}", choices=", ".join(ColumnUse))
            raise InvalidInput.because(say("columns"), value, allowed, "file") from None
    return uses or None


def chosen_layout(values: Mapping[str, str]) -> CsvDialect:
    """What the preview's owner says of the file's layout; anything else is found again."""
    delimiter, decimal = values.get("delimiter", ""), values.get("decimal", "")
    order = values.get("day_order", "")
    return CsvDialect(
        delimiter if delimiter in DELIMITERS else "",
        decimal if decimal in DECIMALS else "",
        DayOrder(order) if order in tuple(DayOrder) else None,
    )


def read_discharge(
    values: Mapping[str, str], source: Source, before: DischargeDetails | None, today: date
) -> Given:
    """The whole test. Raises InvalidInput with every problem of the form.

    Where an edit leaves the readings as they were, they keep where they came from.
    """
    form = FormReader(values)
    noted = not len(source.readings)
    started = day_noted(form, before, today) if noted else _started(form, source, before)
    _check_first_time(form, started, source)
    called = form.text("source", say("file name"), MAX_LINE_LENGTH)
    origin = say(called) if called == PASTED else called or say("typed")
    readings, assumptions = source.readings, source.assumptions
    if before is not None and same_readings(before.readings, source.readings):
        # A form shows fewer digits than a logger writes: what was stored stays.
        readings, origin, assumptions = before.readings, before.source, before.assumptions
    details = DischargeDetails(
        started_at=started.astimezone(UTC),
        utc_offset_minutes=offset_minutes(started),
        readings=readings,
        source=origin,
        assumptions=assumptions,
        left_out_reason="" if before is None else before.left_out_reason,
        import_uid="" if before is None else before.import_uid,
        **read_fields(form, DischargeDetails),
    )
    meter = meter_choice(form)
    form.finish()
    return Given(details, meter)


def discharge_values(details: DischargeDetails) -> dict[str, str]:
    """What the form shows of a stored test; typed rows only where they are few."""
    values = {
        "started_at": "" if details.is_only_result else _shown_start(details),
        "day": details.started_local.date().isoformat() if details.is_only_result else "",
        **shown_fields(details),
        "meter": str(details.meter_id or ""),
        "source": str(details.source),
    }
    if len(details.readings) <= MAX_EDITED_ROWS:
        values |= _row_values(details.readings)
    return values


def same_readings(one: Readings, other: Readings) -> bool:
    """Whether two sets of readings are the same to what a form shows of them."""
    return _row_values(one) == _row_values(other)


def _row_values(readings: Readings) -> dict[str, str]:
    values = {"rows": str(len(readings) + 2)}
    columns = (
        readings.current_a,
        readings.voltage_v,
        readings.temperature_c,
        readings.gauge_percent,
        readings.counted_ah or column([None] * len(readings)),
    )
    for i, elapsed in enumerate(readings.elapsed_s):
        values[f"time_{i}"] = as_clock_span(elapsed)
        for name, read in zip(TYPED_COLUMNS[1:], columns, strict=True):
            values[f"{name}_{i}"] = "" if read[i] != read[i] else f"{read[i]:.10g}"
    return values


def _shown_start(details: DischargeDetails) -> str:
    return details.started_local.replace(tzinfo=None).isoformat(timespec="seconds")


def _started(form: FormReader, source: Source, before: DischargeDetails | None) -> datetime:
    """The typed start, else the one in the file; the two must not contradict each other.

    In an edit it is read by the clock of the place where the test was entered, as it is shown.
    """
    in_file = source.started_at
    if in_file is not None and in_file.year < EARLIEST_YEAR:
        form.refuse(
            say("start in the file"), str(in_file), say("a date from 1970 up to now"), "file"
        )
        return in_file.replace(year=EARLIEST_YEAR, tzinfo=UTC)
    if in_file is not None and in_file.tzinfo is None:
        in_file = in_file.astimezone()
    if not form.raw("started_at") and in_file is not None:
        return in_file
    given = form.moment("started_at", say("start of the test"))
    if before is not None and form.fine:
        given = _by_its_clock(given, form.raw("started_at"), before)
    if in_file is not None and form.fine and abs(given - in_file) > SAME_START:
        allowed = say(
            "{start:%Y-%m-%d %H:%M}, the first time in the file, or nothing", start=in_file
        )
        form.refuse(say("start of the test"), form.raw("started_at"), allowed, "started_at")
    return given


def _by_its_clock(given: datetime, text: str, before: DischargeDetails) -> datetime:
    """A start typed into the form of a stored test, which may come from another time zone."""
    local = before.started_local
    if text == _shown_start(before):
        return local
    if before.started_at.astimezone().utcoffset() == local.utcoffset():
        return given
    return given.replace(tzinfo=local.tzinfo)


def _check_first_time(form: FormReader, started: datetime, source: Source) -> None:
    """The first reading belongs to the moment the load came on: 0:00, or the start's clock time."""
    first = source.first_clock_s
    if first is None or not form.fine:
        return
    clock = since_midnight_s(started)
    if first == 0 or abs(first - clock) <= SAME_MINUTE_S:
        return
    allowed = say(
        "{start:%H:%M}, the start of the test, or 0:00; add a reading for that moment",
        start=started,
    )
    form.refuse(
        say("first time of the readings"), as_clock_span(first // 60 * 60), allowed, "time_0"
    )


def meter_choice(form: FormReader) -> MeterChoice:
    """The meter that was chosen: a stored one by its number, or a typical one by its kind."""
    text = form.raw("meter")
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    return form.choice("meter", say("meter"), MeterKind)
