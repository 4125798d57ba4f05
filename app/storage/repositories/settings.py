"""What the owner set for the whole program, and what the program keeps of itself, by name."""

from collections.abc import Sequence

from sqlalchemy import inspect
from sqlmodel import Session, col, select

from app.storage.schema.tables import SettingRow


def get(session: Session, name: str) -> str | None:
    """The value; None where nothing was set, and in a file from before there were settings."""
    if not _there(session):
        return None
    row = session.get(SettingRow, name)
    return None if row is None else row.value


def several(session: Session, names: Sequence[str]) -> dict[str, str]:
    """The values by their names; what was not set is not there. Of a file that is up to date."""
    query = select(SettingRow.name, SettingRow.value).where(col(SettingRow.name).in_(names))
    return dict(session.exec(query).all())


def put(session: Session, name: str, value: str | None) -> None:
    """Set a value, or forget it with None. A file from before there were settings keeps none."""
    if not _there(session):
        return
    row = session.get(SettingRow, name)
    if value is None:
        if row is not None:
            session.delete(row)
        return
    if row is None:
        row = SettingRow(name=name, value=value)
    row.value = value
    session.add(row)


def _there(session: Session) -> bool:
    return inspect(session.connection()).has_table("setting")
