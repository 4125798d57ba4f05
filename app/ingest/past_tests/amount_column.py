"""What the tests of a table delivered, read by what the whole column tells."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.errors import FieldError, truncate
from app.domain.i18n.message import say
from app.domain.past_tests.answers import POINTS, Question, points_question
from app.domain.past_tests.columns import ENERGIES, PastColumn
from app.domain.quantity import COUNTED_CHARGE, COUNTED_ENERGY
from app.ingest.dialect import Row
from app.ingest.past_tests.amounts import Amount, in_base, other_unit, read_amount, sure_mark

# No battery gives more than this share of its rating, and nobody keeps the result of one that gave
# less than so many percent (common practice).
_MOST_SHARE = 1.6


@dataclass(frozen=True)
class Delivered:
    """What a row delivered: in Ah, or in Wh where energy says so."""

    value: float
    energy: bool
    at_least: bool
    qualified: bool


class AmountColumn:
    """Reads the column of amounts: found by line, said of all of it, and what is wrong."""

    def __init__(
        self,
        rows: Sequence[tuple[int, Row]],
        index: int,
        use: PastColumn,
        rated_ah: float | None,
        points: str = "",
    ) -> None:
        self._use, self._rated_ah, self._points = use, rated_ah, points
        self.questions: list[Question] = []
        self.said: list[str] = []
        self.problems: list[FieldError] = []
        self.found: dict[int, Delivered] = {}
        cells = [(line, row[index]) for line, row in rows]
        mark = sure_mark([cell for _, cell in cells])
        self._has_decimal_commas = mark == ","
        read = [(line, cell, read_amount(cell, use, mark)) for line, cell in cells]
        known = [one.numbers[0] for _, _, one in read if one]
        self._turned = bool(known) and all(number < 0 for number in known)
        if self._turned:
            self.said.append(say("All amounts have a minus sign; it was left out."))
        self._shares = self._are_shares(read)
        for line, cell, one in read:
            self._take(line, cell, one)
        if rated_ah and any(one and one.use is PastColumn.RATED_PERCENT for _, _, one in read):
            self.said.append(
                say("Percentages refer to the rated capacity, {rated:g} Ah.", rated=rated_ah)
            )

    def _are_shares(self, read: Sequence[tuple[int, str, Amount | None]]) -> bool:
        """Whether numbers under % are shares of 1; both kinds in one column are a problem."""
        if self._use is not PastColumn.RATED_PERCENT:
            return False
        plain = [
            (line, cell, abs(one.numbers[0])) for line, cell, one in read if one and "%" not in cell
        ]
        small = [one for one in plain if 0 < one[2] <= _MOST_SHARE]
        large = [one for one in plain if one[2] > _MOST_SHARE]
        if small and large:
            allowed = say(
                "per cent in every row, as in line {number} ({other}), or a fraction of 1 in "
                "every row",
                other=large[0][1],
                number=large[0][0],
            )
            self._refuse(small[0][0], small[0][1], allowed)
        if small and not large:
            self.said.append(say("The amounts are fractions of 1; Fadeline read them as per cent."))
        return bool(small) and not large

    def _take(self, line: int, cell: str, one: Amount | None) -> None:
        quantity = COUNTED_ENERGY if (one.use if one else self._use) in ENERGIES else COUNTED_CHARGE
        numbers = one.likely(self._rated_ah) if one else ()
        if len(numbers) > 1 and self._has_decimal_commas:
            if self._points not in POINTS:
                self.questions = self.questions or [points_question(line, cell, *numbers)]
                return
            numbers = (numbers[POINTS.index(self._points)],)
        if cell.lstrip()[:1] in "<≤":
            allowed = say("what the test delivered, or what it delivered at least")
        elif one is None:
            allowed = quantity.expected(cell) if other_unit(cell) else say("one number, as in 96.4")
        elif len(numbers) > 1:
            allowed = say(
                "{whole:.0f} or {point:.3f}: the comma could mean either",
                whole=numbers[0],
                point=numbers[1],
            )
        elif one.use is PastColumn.RATED_PERCENT and self._rated_ah is None:
            allowed = say("amp-hours: the rated capacity is not known")
        else:
            value = self._value(cell, one, numbers[0])
            if quantity.holds(value):
                energy = one.use in ENERGIES
                self.found[line] = Delivered(value, energy, one.at_least, one.qualified)
                return
            allowed = quantity.allowed
        self._refuse(line, cell, allowed)

    def _value(self, cell: str, one: Amount, number: float) -> float:
        """An amount in Ah or Wh."""
        if self._turned:
            number = -number
        if one.use is PastColumn.RATED_PERCENT:
            percent = number * (100 if self._shares and "%" not in cell else 1)
            return float(f"{percent * (self._rated_ah or 0) / 100:.12g}")
        return in_base(number, one.use)

    def _refuse(self, line: int, cell: str, allowed: str) -> None:
        where = say("line {number}, {column}", number=line, column=self._use.label)
        self.problems.append(FieldError(where, truncate(cell), allowed, "table"))
