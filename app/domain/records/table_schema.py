"""A table of the records as plain data: its columns, what they mean and what they may hold."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from app.domain.quantity import Quantity

# One row: column to value. Moments are aware, in UTC; an object is a dict.
Row = dict[str, Any]
Plain = int | float | str | bool | date | datetime | dict[str, Any] | None


class ColumnKind(StrEnum):
    """What a column holds; the value is the word of the Table Schema standard for it."""

    INTEGER = "integer"
    NUMBER = "number"
    TEXT = "string"
    BOOLEAN = "boolean"
    DATE = "date"
    MOMENT = "datetime"
    LIST = "array"
    OBJECT = "object"


@dataclass(frozen=True)
class TextRule:
    """What a text must be like, in words and as a test."""

    words: str
    holds: Callable[[str], bool]


@dataclass(frozen=True)
class FieldSchema:
    """One column. unit is empty for texts, names and numbers of rows, "1" for plain counts.

    added_later says that archives of earlier versions lack it; its rows then hold earlier.
    """

    name: str
    kind: ColumnKind
    title: str
    unit: str
    description: str
    nullable: bool = False
    range: Quantity | None = None
    choices: tuple[str, ...] = ()
    rule: TextRule | None = None
    added_later: bool = False
    earlier: Plain = None


@dataclass(frozen=True)
class TableSchema:
    """One table; thing is what one row of it is called.

    references lead from a column to the table whose number it holds. identity names the columns by
    which a row is known again in another copy of the records; uncompared ones may differ between
    two copies of the same thing.
    """

    name: str
    title: str
    thing: str
    description: str
    columns: tuple[FieldSchema, ...]
    primary_key: str
    references: tuple[tuple[str, str], ...]
    identity: tuple[str, ...]
    uncompared: tuple[str, ...] = ()
    label: str = ""
    # Whether archives of earlier versions lack the whole table.
    added_later: bool = False

    @property
    def numbered(self) -> bool:
        """Whether its rows have numbers of their own that another data file may use already."""
        return self.primary_key == "id"
