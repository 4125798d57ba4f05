"""What edits replaced."""

from collections.abc import Callable
from datetime import datetime

from sqlmodel import Session, SQLModel

from app.storage.packing import pack_row
from app.storage.tables import RevisionRow


def keep(
    session: Session, thing: str, row: SQLModel, now: datetime, change: Callable[[], None]
) -> None:
    """Keep the row as it is, then change it and count its version up."""
    before = row.model_dump()
    session.add(
        RevisionRow(
            thing=thing,
            thing_id=before["id"],
            version=before["version"],
            replaced_at=now,
            before=pack_row(before),
        )
    )
    change()
    row.version = before["version"] + 1
    session.add(row)
