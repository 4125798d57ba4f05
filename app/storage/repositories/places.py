"""Places in the data file, and which battery was where."""

from datetime import date, datetime
from typing import Any

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from app.domain.entities.place import Place, PlaceDetails, Stay
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.storage.database.collation import in_byte_order
from app.storage.repositories import soft_delete
from app.storage.repositories.edited_rows import EditedRows
from app.storage.schema.row_values import of_row, row_values
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import PlaceRow, StayRow


def _place(row: PlaceRow) -> Place:
    return Place(number_of(row), of_row(PlaceDetails, row), row.version)


_ROWS = EditedRows(PlaceRow, _place)
get = _ROWS.get
change = _ROWS.change
binned = _ROWS.binned
put_in_bin = _ROWS.put_in_bin
restore = _ROWS.restore


def add(session: Session, details: PlaceDetails) -> Place:
    """Store a new place."""
    row = PlaceRow(**row_values(details))
    session.add(row)
    session.flush()
    return _place(row)


def all_kept(session: Session) -> list[Place]:
    """Every place that is not in the bin, by name."""
    kept = select(PlaceRow).where(col(PlaceRow.deleted_at).is_(None))
    query = kept.order_by(in_byte_order(col(PlaceRow.name)), col(PlaceRow.id))
    return [_place(row) for row in session.exec(query)]


def names(session: Session) -> dict[int, str]:
    """Names by number, of places in the bin too."""
    rows = session.exec(select(PlaceRow.id, PlaceRow.name))
    return {number: name for number, name in rows if number is not None}


def add_stay(session: Session, battery_id: int, place_id: int, from_date: date) -> Stay:
    """Raises InvalidInput where another stay of the battery begins on that day."""
    row = StayRow(battery_id=battery_id, place_id=place_id, from_date=from_date)
    session.add(row)
    _flush(session, from_date)
    return _stay(row)


def stays_of(session: Session, battery_id: int) -> list[Stay]:
    """The stays of a battery in order."""
    return _stays(session, StayRow.battery_id == battery_id)


def stays_at(session: Session, place_id: int) -> list[Stay]:
    """Every battery's stays at a place in order."""
    return _stays(session, StayRow.place_id == place_id)


def bin_stay(session: Session, stay_id: int, now: datetime) -> Stay:
    """Take a stay back: it goes out of sight, its row stays. Raises NotFound."""
    return _stay(soft_delete.put(session, StayRow, stay_id, now))


def restore_stay(session: Session, stay_id: int) -> Stay:
    """Raises NotFound, StaleEdit, and InvalidInput where another stay begins on that day by now."""
    row = soft_delete.taken_out(session, StayRow, stay_id)
    _flush(session, row.from_date)
    return _stay(row)


def binned_stays(session: Session) -> list[tuple[Stay, datetime]]:
    """Stays that were taken back, the newest first, with when."""
    return [(_stay(row), when) for row, when in soft_delete.binned(session, StayRow)]


def _flush(session: Session, from_date: date) -> None:
    try:
        session.flush()
    except IntegrityError as error:
        raise InvalidInput.because(
            say("first day there"),
            from_date,
            say("a day on which no other stay begins"),
            "from_date",
        ) from error


def _stays(session: Session, where: Any) -> list[Stay]:
    query = (
        select(StayRow)
        .where(where, col(StayRow.deleted_at).is_(None))
        .order_by(col(StayRow.from_date), col(StayRow.id))
    )
    return [_stay(row) for row in session.exec(query)]


def _stay(row: StayRow) -> Stay:
    return Stay(number_of(row), row.battery_id, row.place_id, row.from_date, row.version)
