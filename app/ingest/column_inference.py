"""Guessing what each column of a file is, from its heading and from what stands in it."""

import re
from dataclasses import dataclass

import numpy as np

from app.domain.i18n.message import say
from app.domain.units.column import USUAL_ORDER, ColumnUse
from app.ingest.derived import carrier
from app.ingest.dialect import CellTable
from app.ingest.headings import (
    EXTREME,
    PLAIN,
    bare_charge,
    cell_voltages,
    names_unit,
    odd_prefix,
    rank,
    use_of_heading,
)
from app.ingest.magnitudes import (
    UNITS_OF_ROLE,
    alike,
    falls,
    fitting_times,
    fitting_units,
    looks_like_volts,
    numbers_of,
    of_clock,
)
from app.ingest.questions import Choice, FileQuestion
from app.ingest.wording.cells import is_date, is_time
from app.ingest.wording.heading_words import may_flow_in, says_discharge, words_of

# What is needed only where nothing else tells the load.
_INSTEAD = {"power": {"current"}, "energy": {"current", "count", "power"}}
_MAX_CHANNELS = 16
_BEGIN_SHARE = 0.05


@dataclass(frozen=True)
class ColumnGuess:
    """What the columns are taken for; left out are those that a question is about."""

    uses: tuple[ColumnUse, ...]
    questions: tuple[FileQuestion, ...] = ()


def guess_uses(table: CellTable) -> tuple[ColumnUse, ...]:
    """The uses alone: a column that a question is about is left out."""
    return guess(table).uses


def guess(table: CellTable) -> ColumnGuess:
    """Guess the use of every column from its heading, else from its place.

    A heading is read for a word and a unit; each use is given once, to the leftmost column that
    is about the battery itself. A unit that nobody named is told by the values, where these fit
    one only.
    """
    if not any(re.search(r"[A-Za-z%°]", name) for name in table.header):
        return _by_place(table)
    named = [_settled(table, i, use_of_heading(n)) for i, n in enumerate(table.header)]
    for cell in cell_voltages(table.header):
        named[cell] = ColumnUse.IGNORE
    uses = [ColumnUse.IGNORE] * table.width
    questions = _take_times(table, named, uses)
    roles = dict.fromkeys(use.role for use in named if use is not ColumnUse.IGNORE)
    for role in roles:
        if role in ("time", "date") or _INSTEAD.get(role, set()) & set(roles):
            continue
        index, several = _chosen(table, role, [i for i, u in enumerate(named) if u.role == role])
        if several:
            questions.append(_which(table, named, several))
        elif index is not None:
            fitting = fitting_uses(table, index, named[index])
            if len(fitting) == 1:
                uses[index] = fitting[0]
            elif not (role == "count" and "current" in roles):
                questions.append(_unit_question(table, index, role, fitting))
    _take_power_beside(table, named, uses)
    # An optional column is left out instead; a counter answers for a current without a unit.
    unasked = {"temperature", "count"} | ({"current"} if _counts(uses) else set())
    asked = [one for one in questions if not (one.of_units and one.role in unasked)]
    if "count" in roles and not _carried(uses):
        asked = questions
    return ColumnGuess(tuple(uses), tuple(asked))


def _take_power_beside(table: CellTable, named: list[ColumnUse], uses: list[ColumnUse]) -> None:
    """Put a power among the uses that may bear witness to current and voltage, if one is plain."""
    if not {"current", "voltage"} <= {use.role for use in uses}:
        return
    indices = [i for i, use in enumerate(named) if use.role == "power"]
    ranks = [rank(table.header[i]) for i in indices]
    best = [i for i, one in zip(indices, ranks, strict=True) if one == min(ranks) < EXTREME]
    if len(best) == 1:
        fitting = fitting_uses(table, best[0], named[best[0]])
        uses[best[0]] = fitting[0] if len(fitting) == 1 else ColumnUse.IGNORE


def _counts(uses: list[ColumnUse]) -> bool:
    return any(use.role == "count" for use in uses)


def _carried(uses: list[ColumnUse]) -> bool:
    return bool(carrier({use.role for use in uses}))


def _take_times(
    table: CellTable, named: list[ColumnUse], uses: list[ColumnUse]
) -> list[FileQuestion]:
    """Put the first time and the first date among the uses; a question where no unit is sure."""
    taken: set[str] = set()
    left: list[FileQuestion] = []
    for index, use in enumerate(named):
        if use.role not in ("time", "date"):
            continue
        fitting = fitting_times(table, index, use)
        if len(fitting) > 1 and use.role == "time":
            left.append(_unit_question(table, index, "time", fitting))
        elif len(fitting) == 1 and fitting[0].role and fitting[0].role not in taken:
            taken.add(fitting[0].role)
            uses[index] = fitting[0]
    return [] if "time" in taken else _take_clock(table, uses, left[:1])


def _take_clock(
    table: CellTable, uses: list[ColumnUse], left: list[FileQuestion]
) -> list[FileQuestion]:
    """Put the only column of clock times among the uses, whatever its heading; ask of several."""
    clocks = [i for i, use in enumerate(uses) if use.role == "" and of_clock(table, i)]
    if len(clocks) > 1:
        choices = tuple(Choice(i, ColumnUse.CLOCK, _heading(table, i)) for i in clocks)
        found = ", ".join(choice.heading for choice in choices)
        return [FileQuestion("time", say("column of the time"), found, choices)]
    if not clocks:
        return left
    uses[clocks[0]] = ColumnUse.CLOCK
    dates = [i for i in range(table.width) if is_date(table.head[0][i])]
    if ColumnUse.DATE not in uses and len(dates) == 1:
        uses[dates[0]] = ColumnUse.DATE
    return []


def _chosen(table: CellTable, role: str, indices: list[int]) -> tuple[int | None, list[int]]:
    """The column of a role, or those among which the file does not tell."""
    if role == "count":
        # A rated capacity in every row counts nothing.
        moving = [i for i in indices if _moves(table, i)]
        out = [i for i in moving if says_discharge(words_of(table.header[i]))]
        return (next(iter(out or moving), None)), []
    if role == "current":
        sure = [i for i in indices if not may_flow_in(words_of(table.header[i]))]
        if not sure:
            return None, indices
        indices = sure
    if role == "temperature":
        return min(indices, key=lambda index: rank(table.header[index])), []
    if role not in ("current", "voltage") or len(indices) == 1:
        return indices[0], []
    indices = [i for i in indices if numbers_of(table, i, PLAIN[role]).any()] or indices[:1]
    ranks = {i: rank(table.header[i]) for i in indices}
    best = [i for i in indices if ranks[i] == min(ranks.values())]
    if role == "voltage" or len(best) == 1:
        return best[0], []
    plain = numbers_of(table, best[0], PLAIN[role])
    others = [numbers_of(table, i, PLAIN[role]) for i in best[1:]]
    return (best[0], []) if all(alike(plain, other) for other in others) else (None, best)


def _moves(table: CellTable, index: int) -> bool:
    """Whether a counter counts; one that is only called a charge must begin at nothing."""
    values = numbers_of(table, index, ColumnUse.COUNT_AH)
    if not values.size or float(np.ptp(values)) <= 0:
        return False
    return not bare_charge(table.header[index]) or bool(
        abs(values[0]) <= _BEGIN_SHARE * np.ptp(values) and np.all(np.diff(values) >= 0)
    )


def fitting_uses(table: CellTable, index: int, use: ColumnUse) -> tuple[ColumnUse, ...]:
    """The units a column may be in: the one that is named, else those that its values fit."""
    if use.role in ("time", "date"):
        return fitting_times(table, index, use)
    if odd_prefix(table.header[index]):
        return UNITS_OF_ROLE.get(use.role, (use,))
    if names_unit(table.header[index], use):
        return (use,)
    return fitting_units(table, index, use.role) or (use,)


def _unit_question(
    table: CellTable, index: int, role: str, fitting: tuple[ColumnUse, ...]
) -> FileQuestion:
    """In which unit a column is, with the numbers that stand there."""
    heading = _heading(table, index)
    if role == "time":
        found = say("{first} to {last}", first=table.head[0][index], last=table.last_row()[index])
    else:
        values = numbers_of(table, index, PLAIN[role])
        low, high = (values.min(), values.max()) if values.size else (0.0, 0.0)
        found = say("{low:g} to {high:g}", low=low, high=high)
    choices = tuple(Choice(index, use, heading) for use in fitting)
    return FileQuestion(role, say("unit of “{heading}”", heading=heading), found, choices)


def _which(table: CellTable, named: list[ColumnUse], indices: list[int]) -> FileQuestion:
    """Which of several currents is meant."""
    choices = tuple(
        Choice(index, use, _heading(table, index))
        for index in indices
        for use in fitting_uses(table, index, named[index])
    )
    found = ", ".join(_heading(table, index) for index in indices)
    return FileQuestion("current", say("column of the current"), found, choices)


def _heading(table: CellTable, index: int) -> str:
    return table.header[index] or say("column {number}", number=index + 1)


def _by_place(table: CellTable) -> ColumnGuess:
    """Columns without headings: in the usual order, unless current and voltage changed places.

    A column of clock times is the time, wherever it stands; a date may stand before it, or a
    number of the row.
    """
    uses = [ColumnUse.IGNORE] * table.width
    first = next((i for i in range(min(3, table.width)) if of_clock(table, i)), 0)
    for index in range(first):
        uses[index] = ColumnUse.DATE if is_date(table.head[0][index]) else ColumnUse.IGNORE
    for index, use in zip(range(first, table.width), USUAL_ORDER, strict=False):
        uses[index] = use
    times = fitting_times(table, first, uses[first])
    questions = []
    if len(times) > 1:
        questions.append(_unit_question(table, first, "time", times))
    uses[first] = times[0] if len(times) == 1 else ColumnUse.IGNORE
    both = tuple(range(first + 1, min(first + 3, table.width)))
    at = _current_of(table, both)
    if len(at) == 1 and at[0] == first + 2:
        uses[first + 1], uses[first + 2] = uses[first + 2], uses[first + 1]
    if len(at) != 1:
        uses[first + 1 : first + 3] = [ColumnUse.IGNORE] * len(both)
        choices = tuple(
            Choice(index, use, _heading(table, index))
            for index in both
            for use in fitting_units(table, index, "current")
        )
        found = ", ".join(_heading(table, index) for index in both)
        questions.append(FileQuestion("current", say("column of the current"), found, choices))
    elif table.width > at[0]:
        fitting = fitting_units(table, at[0], "current")
        uses[at[0]] = fitting[0] if len(fitting) == 1 else ColumnUse.IGNORE
        if len(fitting) > 1:
            questions.append(_unit_question(table, at[0], "current", fitting))
        volts = 2 * first + 3 - at[0]
        if table.width > volts:
            uses[volts] = fitting_units(table, volts, "voltage")[0]
    return ColumnGuess(tuple(uses), tuple(questions))


def _current_of(table: CellTable, both: tuple[int, ...]) -> tuple[int, ...]:
    """Which of the two columns behind the time may be the current, by which may be the voltage."""
    if not both:
        return (table.width,)
    one = both[0]
    if is_date(table.head[0][one]) or is_time(table.head[0][one]):
        return (one,)
    columns = [numbers_of(table, i, ColumnUse.VOLTAGE_V) for i in both]
    if any(not values.size for values in columns):
        return (one,)
    millivolts = [values / 1000 for values in columns]
    volts = [
        looks_like_volts(values) or looks_like_volts(small)
        for values, small in zip(columns, millivolts, strict=True)
    ]
    down = [falls(values) for values in columns]
    if len(columns) == 1:
        return (one, one + 1) if volts[0] and down[0] else (one,)
    if volts[0] != volts[1]:
        return (one + 1,) if volts[0] else (one,)
    if down[0] != down[1]:
        return (one + 1,) if down[0] else (one,)
    return both if volts[0] else (one,)


def _settled(table: CellTable, index: int, use: ColumnUse) -> ColumnUse:
    """A channel has a few names, and no measured values; data is Italian for a date."""
    if use is ColumnUse.IGNORE and is_date(table.head[0][index]):
        return ColumnUse.DATE if "data" in words_of(table.header[index]) else use
    if use is not ColumnUse.CHANNEL:
        return use
    names = {row[index] for row in table.head}
    measured = any(re.fullmatch(r"[+-]?\d*[.,]\d+", name) for name in names)
    return ColumnUse.IGNORE if measured or len(names) > _MAX_CHANNELS else use
