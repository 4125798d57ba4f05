"""Lines of a log as they are written, one bunch after the other, as readings for a feed."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from app.domain.errors import InvalidInput, truncate
from app.domain.i18n.message import say
from app.domain.units.column import ColumnUse
from app.ingest.column_inference import guess
from app.ingest.dialect import CellTable, Row, read_table, split_lines
from app.ingest.notes import cell_said
from app.ingest.numbers import value_of
from app.ingest.time_parsing import read_clock
from app.ingest.wording.comments import without_remarks

LATEST_S = 4e9
_ROLES = {
    "current": "current_a",
    "voltage": "voltage_v",
    "temperature": "temperature_c",
    "gauge": "gauge_percent",
    "count": "counted_ah",
}


class FeedLines:
    """Remembers the shape of the log from its first lines.

    lacking says, a sentence each, what the last lines had no value for; passed_over is how many of
    them made no reading.
    """

    def __init__(self, guess: Callable[[CellTable], tuple[ColumnUse, ...]]) -> None:
        self._guess = guess
        self._table: CellTable | None = None
        self._uses: tuple[ColumnUse, ...] = ()
        self._last: datetime | None = None
        self._before = 0
        self._made_any = False
        self.lacking: list[str] = []
        self.passed_over = 0

    @property
    def begun(self) -> bool:
        """Whether the shape of the log is known."""
        return bool(self._uses)

    def readings(self, lines: Sequence[str], now: datetime) -> list[dict[str, Any]]:
        """Readings of these lines, with their moments. A line without a current or a time makes
        none, which `lacking` says.

        Times must carry their date or be seconds since 1970; a log without a time column is read
        as of now. Raises InvalidInput with the line, as counted from the first of the log, until
        a first reading was made: from then on a line that cannot be read is among `lacking`.
        """
        text = "".join(lines)
        self.lacking, self.passed_over = [], 0
        table = self._parted(text)
        self._before += len(text.splitlines())
        at = {use.role: i for i, use in enumerate(self._uses) if use is not ColumnUse.IGNORE}
        if "current" not in at:
            if left := [one for one in guess(table).questions if one.role == "current"]:
                raise InvalidInput(one.problem() for one in left)
            allowed = say("one with the current")
            raise InvalidInput.because(say("columns"), ", ".join(table.header), allowed)
        read = [self._tried(table, cells, at, line, now) for line, cells in _filled(table)]
        made = [one for one in read if one]
        self.passed_over = len(read) - len(made)
        return made

    def _parted(self, text: str) -> CellTable:
        """A bunch in its cells: what was found in the first one holds for all, for a bunch may be
        one line, and half of that noise."""
        if self._table is None:
            table = read_table(text)
            self._uses = self._guess(table)
            self._table = table
            return table
        if self._table.delimiter != ";":
            text, _ = without_remarks(text)
        return replace(self._table, text=text, start=0, first_line=self._before + 1)

    def _tried(
        self, table: CellTable, cells: Row, at: dict[str, int], line: int, now: datetime
    ) -> dict[str, Any]:
        """A reading, or nothing where its line cannot be read and others before it could."""
        try:
            one = self._reading(table.fitted(line, cells), at, line, now)
        except InvalidInput as refused:
            if not self._made_any:
                raise
            self.lacking += [
                say("{problem} The line was not sent.", problem=problem.sentence)
                for problem in refused.problems
            ]
            return {}
        self._made_any = self._made_any or bool(one)
        return one

    def _reading(
        self, row: Sequence[str], at: dict[str, int], line: int, now: datetime
    ) -> dict[str, Any]:
        """What a feed sends of a line; empty where it lacks what a reading needs."""
        values = {
            role: value_of(row[at[role]], self._uses[at[role]]) for role in _ROLES if role in at
        }
        if values["current"] is None:
            self._lacks(line, "current", row[at["current"]])
            return {}
        if "time" in at and not row[at["time"]].strip():
            self._lacks(line, "time", "")
            return {}
        one: dict[str, Any] = {"at": self._moment(row, at, line, now).isoformat()}
        for role, value in values.items():
            if value is not None:
                one[_ROLES[role]] = value
            elif row[at[role]].strip():
                # An empty cell says itself that nothing was measured.
                self._lacks(line, role, row[at[role]], sent=True)
        return one

    def _lacks(self, line: int, role: str, cell: str, *, sent: bool = False) -> None:
        place, cell = cell_said("line", line, role), truncate(cell)
        if sent:
            said = say("{place}: “{cell}” is no value; sent without it", place=place, cell=cell)
        elif cell:
            said = say("{place}: “{cell}” is no value; line not sent", place=place, cell=cell)
        else:
            said = say("{place}: no value; line not sent", place=place)
        self.lacking.append(said)

    def _in_order(self, dated: datetime, now: datetime) -> datetime:
        """A local time as a moment. An hour that comes twice goes on from the reading before."""
        if dated.tzinfo is not None:
            return dated.astimezone(UTC)
        first, second = (dated.replace(fold=fold).astimezone(UTC) for fold in (0, 1))
        if self._last is None:
            moment = min(first, second, key=lambda one: abs(one - now))
        else:
            moment = first if first >= self._last else second
        self._last = moment
        return moment

    def _moment(self, row: Sequence[str], at: dict[str, int], line: int, now: datetime) -> datetime:
        if "time" not in at:
            if ColumnUse.IGNORE in self._uses:
                # One of them may well be the time: a made-up one would be wrong without a word.
                allowed = say("one with the time")
                raise InvalidInput.because(say("columns"), ", ".join(row), allowed, "file")
            return now
        use, cell = self._uses[at["time"]], row[at["time"]]
        if use is ColumnUse.CLOCK:
            cells = [f"{row[at['date']]} {cell}" if "date" in at else cell]
            _, dated = read_clock(cells, [line])
            if dated is not None:
                return self._in_order(dated, now)
        elif use in (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS):
            seconds = value_of(cell, use)
            if seconds is not None and 0 <= seconds < LATEST_S:
                return datetime.fromtimestamp(seconds, UTC)
        allowed = say("a time with its date, or seconds since 1970")
        raise InvalidInput.because(cell_said("line", line, "time"), cell, allowed)


def _filled(table: CellTable) -> Iterator[tuple[int, Row]]:
    """Every filled line with its number; one with too many cells, too."""
    lines = split_lines(table.text[table.start :].splitlines(), table.delimiter)
    return ((n, cells) for n, cells in enumerate(lines, start=table.first_line) if any(cells))
