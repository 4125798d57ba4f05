"""What a table of the records and its columns mean, and what each column may hold.

One Column is the one owner of both: the check of a data file (`column_rules`), the records and
their restore (`tables_as_rows`) and the words of a history are made of it. It is itself made of
what the field that it holds says of itself (`described_columns`), where there is one. The type of
a column and whether it may be empty stand in the tables themselves.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.domain.quantity import Quantity
from app.domain.records.table_schema import Plain, TextRule


@dataclass(frozen=True)
class StoredText(TextRule):
    """What a text of a table must be like.

    in_check are the words of the check of a data file, where they are not the same; in_file is its
    test, where a file holds more than an archive does. A list is a JSON array.
    """

    in_check: str = ""
    is_list: bool = False
    in_file: Callable[[str], bool] | None = None


# In a range, one of some names, a text of a shape; None where the type says all.
Holds = Quantity | type[StrEnum] | StoredText | None


@dataclass(frozen=True)
class Column:
    """One column: its title, unit and description, and what it may hold beyond its type.

    unit is empty for texts, dates and numbers of rows, and "1" for counts and shares. added_later
    says that archives of earlier versions lack it; its rows then hold earlier.
    """

    title: str
    unit: str
    description: str
    holds: Holds = None
    added_later: bool = False
    earlier: Plain = None


@dataclass(frozen=True)
class TableDocs:
    """One table; thing is what one row of it is called, label the column by which it is told.

    identity names the columns by which a row is known again in another copy of the records;
    uncompared ones may differ between two copies of the same thing. added_later says that archives
    of earlier versions lack the whole table.
    """

    title: str
    thing: str
    description: str
    columns: Mapping[str, Column]
    identity: tuple[str, ...] = ("uid",)
    label: str = "name"
    uncompared: tuple[str, ...] = ()
    added_later: bool = False
