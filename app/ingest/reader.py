"""From a file or a pasted table to the readings of one test."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.amounts import charge_said
from app.domain.i18n.message import joined, say
from app.domain.quantity import ENDED_AFTER, parse_number
from app.domain.readings import Readings
from app.domain.units.column import ColumnUse, DayOrder
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR
from app.ingest.clock.time_order import mend_clock_change
from app.ingest.derived import carrier, power_beside, readings_of
from app.ingest.dialect import CellTable
from app.ingest.discharge_selection import ListedDischarge, pick_discharge
from app.ingest.fast_reader import FastReader, read_bulk
from app.ingest.left_out_columns import left_out_said
from app.ingest.notes import cell_said, clock_change_said, twice_said, uses_said
from app.ingest.opened_file import Opened, open_file, undecided_part
from app.ingest.questions import Choice, FileQuestion
from app.ingest.row_filter import left_out_said as left_out_rows_said
from app.ingest.row_reader import Imported, needed_positions, read_cells
from app.ingest.time_parsing import guess_day_order, read_moment, since_first

_ENDED = "ended_after_h"
# Clocks are set in the night of a Sunday, nearly everywhere (common practice).
_SUNDAY, _SET_UNTIL_H = 6, 3
_SLACK_S = 60.0


def read_opened(
    opened: Opened,
    uses: Sequence[ColumnUse] | None = None,
    channel: str | None = None,
    discharge: int | None = None,
) -> Imported:
    """Read an opened file; uses overrules what the columns are taken for.

    Of several batteries or channels in one file one is read: channel, or the first. So it is with
    several discharges, by their numbers in the order of the file. Raises
    InvalidInput with line, column, value and allowed range.
    """
    return _picked(_whole(opened, uses, channel), discharge, opened.table)


def read_each(
    opened: Opened, uses: Sequence[ColumnUse] | None = None, channel: str | None = None
) -> tuple[Imported, ...]:
    """Every discharge of an opened file by itself, in the order of the file."""
    whole = _whole(opened, uses, channel)
    first = _picked(whole, None)
    return tuple(_picked(whole, one.number) for one in first.discharges) or (first,)


def _whole(opened: Opened, uses: Sequence[ColumnUse] | None, channel: str | None) -> Imported:
    """Everything that was logged, before a discharge is picked."""
    table = opened.table
    taken = taken_uses(opened, uses)
    if left := left_open(opened, uses):
        raise InvalidInput(one.problem(_results(opened, taken, left, one, channel)) for one in left)
    opened = replace(opened, said=(*opened.said, *left_out_said(table, taken)))
    at = needed_positions(table.header, taken)
    order = opened.layout.day_order
    bulk = read_bulk(table, taken, channel, order)
    if bulk is None:
        read = read_cells(table, taken, list(opened.said), channel=channel, day_order=order)
    else:
        read = _from_bulk(bulk, opened, taken, at)
    if len(read.channels) < 2:
        _refuse_hour_twice(opened, at, read)
    amps = np.asarray(read.readings.current_a)
    if "current" in at and amps.max() <= 0 > amps.min():
        words = say("All currents are negative: Fadeline counts them as the discharge.")
        read = replace(read, assumptions=(*read.assumptions, words))
    if len(read.channels) > 1:
        shown = channel if channel in read.channels else read.channels[0]
        words = say(
            "Channel “{channel}” of {count} was read.", channel=shown, count=len(read.channels)
        )
        read = replace(read, assumptions=(*read.assumptions, words))
    return read


def _refuse_hour_twice(opened: Opened, at: dict[str, int], read: Imported) -> None:
    """Raise InvalidInput where an hourly record has an hour of a Sunday's night twice.

    That is a copy, or the hour at which the clock was set back: then an hour is to be counted.
    """
    begin, steps = read.started_at, np.diff(read.readings.elapsed_s)
    hourly = abs(float(np.median(steps)) - SECONDS_PER_HOUR) <= _SLACK_S
    if begin is None or begin.tzinfo is not None or not hourly:
        return
    places = [at[role] for role in ("date", "time") if role in at]
    cells = [(line, " ".join(row[i] for i in places)) for line, row in opened.table.rows()]
    order = opened.layout.day_order or guess_day_order([cell for _, cell in cells])
    for (_, before), (line, cell) in pairwise(cells):
        moment = read_moment(cell, order is not DayOrder.MONTH_FIRST) if cell == before else None
        if moment is not None and moment.weekday() == _SUNDAY and moment.hour <= _SET_UNTIL_H:
            allowed = say(
                "a time after that of the line before. It may be a copy: then take the line out. "
                "Or the clock was set back: then write the hours since the start instead"
            )
            raise InvalidInput.because(cell_said("line", line, "time"), cell, allowed, "readings")


def taken_uses(opened: Opened, uses: Sequence[ColumnUse] | None) -> tuple[ColumnUse, ...]:
    """As many uses as the file has columns: the given ones, else those guessed."""
    width = opened.table.width
    taken = opened.uses if uses is None else tuple(uses)[:width]
    return taken + (ColumnUse.IGNORE,) * (width - len(taken))


def left_open(opened: Opened, uses: Sequence[ColumnUse] | None) -> tuple[FileQuestion, ...]:
    """What the file does not tell; of chosen columns only what cannot be done without."""
    questions = opened.guessed.questions
    if uses is None:
        return questions
    roles = {use.role for use in uses}
    missing = ({"time"} - roles) | (set() if carrier(roles) else {"current", "count", "power"})
    return tuple(one for one in questions if one.role in missing)


def answered(taken: tuple[ColumnUse, ...], choice: Choice) -> tuple[ColumnUse, ...]:
    """The uses with one answer: its column is that, and no other column has its role."""
    return tuple(
        choice.use
        if index == choice.index
        else ColumnUse.IGNORE
        if use.role == choice.use.role
        else use
        for index, use in enumerate(taken)
    )


def _results(
    opened: Opened,
    taken: tuple[ColumnUse, ...],
    left: tuple[FileQuestion, ...],
    question: FileQuestion,
    channel: str | None,
) -> tuple[str, ...]:
    """The amp-hours that each answer gives; nothing where something else is open, too."""
    if len(left) > 1:
        return ()
    return tuple(_result(opened, answered(taken, choice), channel) for choice in question.choices)


def _result(opened: Opened, taken: tuple[ColumnUse, ...], channel: str | None) -> str:
    try:
        return charge_said(charge_of(read_opened(opened, taken, channel).readings))
    except InvalidInput:
        return ""


def charge_of(readings: Readings) -> float:
    """The amp-hours between the first and the last reading, whatever its sign."""
    counted = readings.counted_ah
    if counted is not None and np.isfinite([counted[0], counted[-1]]).all():
        return abs(counted[-1] - counted[0])
    hours = np.diff(readings.elapsed_s) / SECONDS_PER_HOUR
    amps = np.asarray(readings.current_a)
    return abs(float(np.sum(hours * (amps[1:] + amps[:-1]) / 2)))


def undecided(channels: Sequence[str], channel: str | None) -> tuple[FieldError, ...]:
    """The question which of several batteries is meant, until it is answered."""
    if len(channels) < 2 or channel in channels:
        return ()
    allowed = say(
        "one of the {count} in the file: {channels}",
        count=len(channels),
        channels=truncate(", ".join(channels)),
    )
    return (FieldError(say("battery or channel"), channel or "", allowed, "channel"),)


def _from_bulk(
    bulk: FastReader, opened: Opened, taken: tuple[ColumnUse, ...], at: dict[str, int]
) -> Imported:
    """What the fast way found, with the same said of it as by the careful way."""
    columns, moments, said = bulk.columns, bulk.moments, list(opened.said)
    if bulk.twice:
        said.append(twice_said(bulk.twice, bulk.first_twice))
    if bulk.left_out:
        said.append(left_out_rows_said(bulk.left_out))
    said += bulk.said
    if moments is None:
        columns["time"], begin = since_first(columns["time"], taken[at["time"]])
    else:
        begin = moments.begin
        if moments.day_order is not None:
            said.append(say("Dates were read {order}.", order=moments.day_order.words))
        times, changed, way = mend_clock_change(columns["time"], begin)
        if changed is not None:
            said.append(clock_change_said(say("reading {number}", number=changed + 1), way))
        columns["time"] = times
    said += [bulk.shared] if bulk.shared else []
    said += uses_said(opened.table.header, taken, at)
    first_clock = None if moments is None else moments.first_of_day_s
    power = power_beside(columns)
    return Imported(readings_of(columns), tuple(said), begin, first_clock, bulk.channels, power)


def undecided_discharge(imported: Imported, discharge: int | None) -> tuple[FieldError, ...]:
    """The question which of several discharges is meant, until it is answered."""
    listed = imported.discharges
    given = "" if discharge is None else str(discharge)
    if not listed:
        if discharge in (None, 1):
            return ()
        return (
            FieldError(say("discharge"), given, say("1, the only one in the file"), "discharge"),
        )
    if discharge in {one.number for one in listed}:
        return ()
    allowed = say(
        "the number of one of the {count} in the file: {discharges}",
        count=len(listed),
        discharges=joined("; ", (one.words for one in listed)),
    )
    return (FieldError(say("discharge"), given, allowed, "which_discharge"),)


def _with_end(whole: Imported, table: CellTable) -> Imported:
    """With the end that every row of Fadeline's own table of readings repeats."""
    first, last = (
        dict(zip(table.header, row, strict=False)).get(_ENDED, "")
        for row in (table.head[0], table.last_row())
    )
    hours = parse_number(first)
    if hours is None or first != last or not ENDED_AFTER.holds(hours):
        return whole
    words = say(
        "“{heading}”: the test ended {hours:g} hours after its start.", heading=_ENDED, hours=hours
    )
    return replace(whole, ended_after_h=hours, assumptions=(*whole.assumptions, words))


def _picked(imported: Imported, discharge: int | None, table: CellTable | None = None) -> Imported:
    """The discharge of the record alone; its start moves with it.

    What table says of the end is about the whole record.
    """
    found = pick_discharge(imported.readings, discharge)
    if found.said is None:
        return imported if table is None else _with_end(imported, table)
    later = timedelta(seconds=found.after_s)
    clock = imported.first_clock_s
    return Imported(
        found.readings,
        (*imported.assumptions, found.said),
        None if imported.started_at is None else imported.started_at + later,
        None if clock is None else (clock + found.after_s) % SECONDS_PER_DAY,
        imported.channels,
        None if imported.power_w is None else imported.power_w[found.rows],
        tuple(_dated(one, imported) for one in found.listed),
    )


def _dated(one: ListedDischarge, imported: Imported) -> ListedDischarge:
    """A discharge with when it began, where the record says when that did."""
    start, clock = imported.started_at, imported.first_clock_s
    return replace(
        one,
        started_at=None if start is None else start + timedelta(seconds=one.after_s),
        first_clock_s=None if clock is None else (clock + one.after_s) % SECONDS_PER_DAY,
    )


def read_file(
    data: bytes,
    uses: Sequence[ColumnUse] | None = None,
    channel: str | None = None,
    part: str | None = None,
    discharge: int | None = None,
) -> Imported:
    """Open and read a file in one go.

    Raises InvalidInput, for a sheet, a channel or a discharge that is not chosen, too.
    """
    opened = open_file(data, part=part)
    if problems := undecided_part(opened, part):
        raise InvalidInput(problems)
    read = read_opened(opened, uses, channel, discharge)
    if problems := undecided(read.channels, channel) or undecided_discharge(read, discharge):
        raise InvalidInput(problems)
    return read
