"""Batteries in the data file."""

from collections.abc import Collection

from sqlalchemy import func
from sqlmodel import Session, col, select

from app.domain.entities.battery import Battery, BatteryDetails
from app.storage.database.collation import in_byte_order
from app.storage.repositories.edited_rows import EditedRows
from app.storage.schema.row_values import of_row, row_values
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import BatteryRow


def _battery(row: BatteryRow) -> Battery:
    return Battery(number_of(row), of_row(BatteryDetails, row), row.version)


_ROWS = EditedRows(BatteryRow, _battery)
get = _ROWS.get
change = _ROWS.change
binned = _ROWS.binned
put_in_bin = _ROWS.put_in_bin
restore = _ROWS.restore


def add(session: Session, details: BatteryDetails) -> Battery:
    """Store a new battery."""
    row = BatteryRow(**row_values(details))
    session.add(row)
    session.flush()
    return _battery(row)


def all_kept(session: Session) -> list[Battery]:
    """Every battery that is not in the bin, by name."""
    kept = select(BatteryRow).where(col(BatteryRow.deleted_at).is_(None))
    query = kept.order_by(in_byte_order(col(BatteryRow.name)), col(BatteryRow.id))
    return [_battery(row) for row in session.exec(query)]


def found(session: Session, numbers: Collection[int]) -> dict[int, Battery]:
    """Those of these numbers that are there and not in the bin, in one statement."""
    if not numbers:
        return {}
    wanted = col(BatteryRow.id).in_(numbers), col(BatteryRow.deleted_at).is_(None)
    return {one.id: one for one in map(_battery, session.exec(select(BatteryRow).where(*wanted)))}


def kept_of(session: Session, numbers: Collection[int]) -> set[int]:
    """Those of these numbers whose battery is there and not in the bin."""
    if not numbers:
        return set()
    wanted = col(BatteryRow.id).in_(numbers), col(BatteryRow.deleted_at).is_(None)
    return {number for number in session.exec(select(BatteryRow.id).where(*wanted)) if number}


def page_of(session: Session, find: str, first: int, most: int) -> tuple[list[int], int]:
    """The numbers of so many of those whose name holds `find`, by name from number `first` (0) on;
    and how many there are of them in all."""
    kept = col(BatteryRow.deleted_at).is_(None)
    wanted = [kept, col(BatteryRow.name).icontains(find, autoescape=True)] if find else [kept]
    order = in_byte_order(col(BatteryRow.name)), col(BatteryRow.id)
    query = select(BatteryRow.id).where(*wanted).order_by(*order).offset(first).limit(most)
    count = session.exec(select(func.count()).select_from(BatteryRow).where(*wanted)).one()
    return [number for number in session.exec(query) if number is not None], count


def names(session: Session) -> dict[int, str]:
    """Names by number, of batteries in the bin too."""
    rows = session.exec(select(BatteryRow.id, BatteryRow.name))
    return {number: name for number, name in rows if number is not None}
