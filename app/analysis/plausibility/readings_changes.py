"""In which readings two versions of a test differ, in few words however long they are."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.domain.marks import N_
from app.domain.message import joined, say, written_digits, written_number
from app.domain.readings import COLUMNS, Readings
from app.domain.unit import as_clock_span

Table = NDArray[np.float64]
Numbers = NDArray[np.intp]
# So many changed readings are told one by one.
MAX_TOLD = 3
_LABELS = (
    N_("time"),
    N_("current"),
    N_("voltage"),
    N_("temperature"),
    N_("gauge"),
)
_UNITS = ("", " A", " V", " °C", " %")


@dataclass(frozen=True)
class ReadingsChange:
    """How many readings were changed, added and removed, with the first few in words."""

    changed: int
    added: int
    removed: int
    words: str

    @property
    def count(self) -> int:
        return self.changed + self.added + self.removed


@dataclass(frozen=True)
class _Pairing:
    """Which reading before is which one after; of a pair the first told column may differ."""

    before: Numbers
    after: Numbers
    first_column: int = 0


def compare_readings(before: Readings, after: Readings, moved_s: float = 0.0) -> ReadingsChange:
    """Compare two versions of a test's readings; the second starts moved_s later than the first.

    A reading is known again by its row, its time since the start or its moment, whichever leaves
    fewest differences.
    """
    one, other = _table(before), _table(after)
    found: list[ReadingsChange] = []
    for pairs in _pairings(one, other, moved_s):
        found.append(_difference(one, other, pairs))
        if found[-1].count == found[-1].changed <= MAX_TOLD:
            # Few enough to be believed: a long log need not be looked through once more.
            return found[-1]
    return min(found, key=lambda change: change.count)


def _table(readings: Readings) -> Table:
    columns = [np.frombuffer(getattr(readings, name), dtype=np.float64) for name in COLUMNS]
    return np.stack(columns, axis=1)


def _pairings(one: Table, other: Table, moved_s: float) -> Iterable[_Pairing]:
    rows = np.arange(min(len(one), len(other)))
    yield _Pairing(rows, rows)
    # To the millisecond: the last bits of a time change when the start is moved.
    before = np.round(one[:, 0], 3)
    for shift in {0.0, moved_s}:
        after = np.round(other[:, 0] + shift, 3)
        if len(after) and np.all(np.diff(before) > 0) and np.all(np.diff(after) > 0):
            place = np.minimum(np.searchsorted(after, before), len(after) - 1)
            known = np.flatnonzero(after[place] == before)
            yield _Pairing(known, place[known], first_column=1)


def _difference(one: Table, other: Table, pairs: _Pairing) -> ReadingsChange:
    left, right = one[pairs.before], other[pairs.after]
    differs = (left != right) & ~(np.isnan(left) & np.isnan(right))
    differs[:, : pairs.first_column] = False
    changed = np.flatnonzero(differs.any(axis=1))
    added, removed = _unpaired(len(other), pairs.after), _unpaired(len(one), pairs.before)
    told = [
        _told(pairs.after[row], left[row], right[row], differs[row]) for row in changed[:MAX_TOLD]
    ]
    words = [
        _counted(N_("{count} changed: {which}"), len(changed), told),
        _counted(
            N_("{count} added: {which}"),
            len(added),
            [_named(other, row) for row in added[:MAX_TOLD]],
        ),
        _counted(
            N_("{count} removed: {which}"),
            len(removed),
            [_named(one, row) for row in removed[:MAX_TOLD]],
        ),
    ]
    return ReadingsChange(len(changed), len(added), len(removed), joined("; ", filter(None, words)))


def _unpaired(count: int, paired: Numbers) -> Numbers:
    alone = np.ones(count, dtype=bool)
    alone[paired] = False
    return np.flatnonzero(alone)


def _counted(words: str, count: int, told: list[str]) -> str:
    if not count:
        return ""
    which = joined(", ", told)
    if count > len(told):
        which = say("{which} and {count} more", which=which, count=count - len(told))
    return say(words, count=count, which=which)


def _told(number: int, left: Table, right: Table, differs: NDArray[np.bool_]) -> str:
    """One changed reading: “#4 current 8.2 → 8.3 A”."""
    parts = [
        joined(
            "", (say(_LABELS[i]), " ", _shown(i, left[i]), " → ", _shown(i, right[i], _UNITS[i]))
        )
        for i in range(len(_LABELS))
        if differs[i]
    ]
    joining = joined(" ", ("", say("and"), ""))
    return joined("", (f"#{number + 1} ", joined(joining, parts)))


def _named(table: Table, row: int) -> str:
    return say(
        "#{row} at {time} with {current}",
        row=row + 1,
        time=_shown(0, table[row, 0]),
        current=_shown(1, table[row, 1], " A"),
    )


def _shown(column: int, value: float, unit: str = "") -> str:
    if np.isnan(value):
        return say("nothing")
    if column:
        return joined("", (written_number(value, ".10g"), unit))
    return written_digits(as_clock_span(float(value)))
