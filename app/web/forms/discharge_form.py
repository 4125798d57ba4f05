"""The form of a capacity test: conditions and readings, typed, pasted or from a file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date
from itertools import pairwise

from app.analysis.reports.discharge_report import DischargeReport
from app.charts.chart import Chart
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import NOTED_FIELDS, DischargeDetails
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
from app.domain.units.time_units import SECONDS_PER_DAY, since_midnight_s
from app.domain.units.unit import as_clock_span
from app.services.entities.doubts import StorageQuestion
from app.services.entities.imports import ComingTest
from app.services.entities.meters import MeterChoice
from app.services.exchange.staged_upload import Source, StagedUpload
from app.web.forms.described_form import AskedField, asked_fields, read_fields, shown_fields
from app.web.forms.end_of_test import HOURS, read_end, shown_end
from app.web.forms.entry_way import Way
from app.web.forms.form_reader import FormReader
from app.web.forms.start_of_test import day_noted, read_start, shown_start
from app.web.forms.test_choices import Choice, charge_choices, end_choices, way_choices
from app.web.forms.typed_table import FILLED_TIMES, LINE

PASTED = N_("pasted")
# Kelvin: less than the last digit that a form shows of a temperature.
SHOWN_K = 1e-5
# A test with more readings than this came from a logger: its readings are kept, not retyped.
MAX_EDITED_ROWS = 60
DECIMALS = {".": N_("a point"), ",": N_("a comma")}
DAY_ORDERS = {
    "": N_("as found"),
    DayOrder.DAY_FIRST.value: N_("day before month"),
    DayOrder.MONTH_FIRST.value: N_("month before day"),
}


def _said(choices: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple((value, say(text)) for value, text in choices.items())


@dataclass(frozen=True)
class DischargeFormPage:
    """What discharge_form.html needs. discharge_id is None for a new test.

    report and course show what the test would prove, None where it cannot be told yet; assumptions
    are those of the file. again says, by field, which earlier test a value is taken from; questions
    are what can hardly be. counter says whether the column of a counter is there. way is the one of
    which the fields are in sight, None where readings are kept; unused are ways in which something
    stands that is not read, carried what of them is not on the page. past_tests leads to the page
    for many tests at once. correctable says that a file's readings fit into rows.
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
    way: Way | None
    unused: tuple[Way, ...]
    carried: Mapping[str, str]
    past_tests: str
    correctable: bool
    fields: Mapping[str, AskedField] = field(default_factory=lambda: asked_fields(DischargeDetails))
    ways: tuple[Choice, ...] = field(default_factory=way_choices)
    charge_choices: tuple[Choice, ...] = field(default_factory=charge_choices)
    end_choices: tuple[Choice, ...] = field(default_factory=end_choices)
    column_uses: tuple[ColumnUse, ...] = tuple(ColumnUse)
    columns: tuple[str, ...] = TYPED_COLUMNS
    folded_column: str = FOLDED_COLUMN
    filled_times: str = FILLED_TIMES
    line: str = LINE
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
    values: Mapping[str, str], source: Source | None, before: DischargeDetails | None, today: date
) -> Given:
    """The whole test. Raises InvalidInput with every problem of the form.

    source is None where the readings cannot be read yet: all else is looked at all the same. Where
    an edit leaves the readings as they were, they keep where they came from.
    """
    noted = source is not None and not len(source.readings)
    form = FormReader(values if noted else {**values, **dict.fromkeys(NOTED_FIELDS, "")})
    started = day_noted(form, before, today) if noted else read_start(form, source, before, today)
    source = source or Source(Readings.of([0.0, 1.0], [1.0, 1.0]))
    called = form.text("source", say("file name"), MAX_LINE_LENGTH)
    origin = say(called) if called == PASTED else called or say("typed")
    readings, assumptions = source.readings, source.assumptions
    if before is not None and same_readings(before.readings, source.readings):
        # A form shows fewer digits than a logger writes: what was stored stays.
        readings, origin, assumptions = before.readings, before.source, before.assumptions
    asked = read_fields(form, DischargeDetails)
    if not noted:
        last_s = readings.elapsed_s[-1] if len(readings) else 0.0
        typed_h = read_end(form, asked[HOURS], started, last_s, before)
        asked[HOURS] = source.ended_after_h if typed_h is None else typed_h
    details = DischargeDetails(
        started_at=started.astimezone(UTC),
        utc_offset_minutes=offset_minutes(started),
        readings=readings,
        source=origin,
        assumptions=assumptions,
        left_out_reason="" if before is None else before.left_out_reason,
        import_uid="" if before is None else before.import_uid,
        **asked,
    )
    meter = meter_choice(form)
    form.finish()
    return Given(details, meter)


def discharge_values(details: DischargeDetails) -> dict[str, str]:
    """What the form shows of a stored test; typed rows only where they are few."""
    values = {
        **shown_start(details),
        **shown_fields(details),
        **shown_end(details),
        "meter": str(details.meter_id or ""),
        "source": str(details.source),
    }
    if len(details.readings) <= MAX_EDITED_ROWS:
        values |= rows_by_the_clock(details.readings, since_midnight_s(details.started_local))
    return values


def rows_by_the_clock(readings: Readings, first_clock_s: float | None) -> dict[str, str]:
    """The typed rows of readings by the times of day at which they were read.

    Spans since the start where no clock is known, where the readings do not begin at 0:00, and
    where one is a day behind the last: then times of day would not say the day.
    """
    values = _row_values(readings)
    elapsed = readings.elapsed_s
    steps = [later - earlier for earlier, later in pairwise(elapsed)]
    days = max(steps, default=0.0) >= SECONDS_PER_DAY
    if first_clock_s is None or not len(readings) or elapsed[0] or days:
        return values
    first_s = first_clock_s // 1
    for i, since_start in enumerate(elapsed):
        clock = as_clock_span((first_s + round(since_start, 3)) % SECONDS_PER_DAY)
        values[f"time_{i}"] = clock.rjust(5, "0") if clock.count(":") == 1 else clock.rjust(8, "0")
    return values


def fits_rows(source: Source | None) -> bool:
    """Whether the readings of a file are few enough to be corrected one by one."""
    return source is not None and 0 < len(source.readings) <= MAX_EDITED_ROWS


def same_readings(one: Readings, other: Readings) -> bool:
    """Whether two sets of readings are the same to what a form shows of them."""
    if len(one) != len(other):
        return False
    shown = _row_values(one)
    return all(_same(name, shown[name], text) for name, text in _row_values(other).items())


def _same(name: str, one: str, other: str) -> bool:
    """Whether two cells are the same; a temperature may have been on its way through °F."""
    near = name.startswith("temperature_") and one and other
    return one == other or bool(near and abs(float(one) - float(other)) < SHOWN_K)


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


def meter_choice(form: FormReader) -> MeterChoice:
    """The meter that was chosen: a stored one by its number, or a typical one by its kind."""
    text = form.raw("meter")
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    return form.choice("meter", say("meter"), MeterKind)
