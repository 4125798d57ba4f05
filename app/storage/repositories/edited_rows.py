"""What is done alike with the things of a table that can be edited and put in the bin."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Generic, TypeVar

from sqlmodel import Session

from app.storage.repositories import revisions, soft_delete
from app.storage.repositories.soft_delete import Row
from app.storage.schema.row_values import row_values

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Stored = TypeVar("Stored")


@dataclass(frozen=True)
class EditedRows(Generic[Row, Stored]):
    """The rows of one table; stored makes of a row what leaves this package."""

    table: type[Row]
    stored: Callable[[Row], Stored]

    def get(self, session: Session, number: int) -> Stored:
        """One that is not in the bin. Raises NotFound."""
        return self.stored(soft_delete.kept(session, self.table, number))

    def change(
        self, session: Session, number: int, entered: "DataclassInstance", now: datetime
    ) -> Stored:
        """Replace what is known of it, keeping what it was. Raises NotFound."""
        row = soft_delete.kept(session, self.table, number)
        revisions.change(session, row, row_values(entered), now)
        session.flush()
        return self.stored(row)

    def binned(self, session: Session) -> list[tuple[Stored, datetime]]:
        """What lies in the bin, the newest first, with when it was put there."""
        found = soft_delete.binned(session, self.table)
        return [(self.stored(row), when) for row, when in found]

    def put_in_bin(self, session: Session, number: int, now: datetime) -> Stored:
        """Raises NotFound where it is not there, or lies there already."""
        return self.stored(soft_delete.put(session, self.table, number, now))

    def restore(self, session: Session, number: int) -> Stored:
        """Take it out of the bin. Raises NotFound, and StaleEdit where it was restored already."""
        return self.stored(soft_delete.taken_out(session, self.table, number))
