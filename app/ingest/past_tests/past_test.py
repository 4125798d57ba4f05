"""A test of years ago as its row tells it, and what a whole table of them gives."""

from dataclasses import dataclass
from datetime import date, time

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.errors import FieldError
from app.domain.past_tests.answers import Question
from app.domain.past_tests.columns import PastColumn


@dataclass(frozen=True)
class PastTest:
    """One test. What its row does not say is None or empty; row is its line in the table.

    Either counted_ah is known or counted_wh. at_least says that the row calls its amount a lower
    bound.
    """

    row: int
    day: date
    clock: time | None = None
    counted_ah: float | None = None
    counted_wh: float | None = None
    mean_voltage_v: float | None = None
    duration_h: float | None = None
    mean_current_a: float | None = None
    last_voltage_v: float | None = None
    ambient_c: float | None = None
    charge_condition: ChargeCondition | None = None
    end_reason: EndReason | None = None
    meter: str = ""
    load: str = ""
    notes: str = ""
    left_out_reason: str = ""
    at_least: bool = False
    assumptions: tuple[str, ...] = ()


@dataclass(frozen=True)
class LeftOutRow:
    """A row that is no test, with why."""

    row: int
    why: str


@dataclass(frozen=True)
class PastTests:
    """What a table holds.

    open_ names what some row leaves open that is asked once for all: charge, end, meter. Only
    without problems and questions may the tests be stored.
    """

    uses: tuple[PastColumn, ...]
    tests: tuple[PastTest, ...] = ()
    left_out: tuple[LeftOutRow, ...] = ()
    problems: tuple[FieldError, ...] = ()
    questions: tuple[Question, ...] = ()
    assumptions: tuple[str, ...] = ()
    open_: tuple[str, ...] = ()

    @property
    def readable(self) -> bool:
        return not self.problems and not self.questions
