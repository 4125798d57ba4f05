"""Temperature logs in the data file."""

import math
from array import array
from collections.abc import Sequence
from datetime import date, datetime

import sqlalchemy as sa
from sqlmodel import Session, col, select

from app.domain.temperature_log import HOURS_A_DAY, HourlyTemperatures, TemperatureLog
from app.storage.repositories import soft_delete
from app.storage.schema.hours_as_text import day_lines, hours_of
from app.storage.schema.sentences_as_json import list_from_json, list_to_json
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import TemperatureDayRow, TemperatureLogRow


def add(
    session: Session,
    place_id: int,
    source: str,
    said: Sequence[str],
    hourly: HourlyTemperatures,
    now: datetime,
    *,
    gives_way: bool,
) -> int:
    """Store a log with its hours; returns its number."""
    row = TemperatureLogRow(
        place_id=place_id,
        source=source,
        said=list_to_json(said, "said"),
        gives_way=gives_way,
        added_at=now,
    )
    session.add(row)
    session.flush()
    number = number_of(row)
    days = [{"log_id": number, "on_date": day, "celsius": line} for day, line in day_lines(hourly)]
    session.execute(sa.insert(TemperatureDayRow), days)
    return number


def of_place(session: Session, place_id: int) -> list[TemperatureLog]:
    """The logs of a place in the order in which they were added."""
    query = (
        select(TemperatureLogRow)
        .where(TemperatureLogRow.place_id == place_id, col(TemperatureLogRow.deleted_at).is_(None))
        .order_by(col(TemperatureLogRow.id))
    )
    return [_log(session, row) for row in session.exec(query)]


def get(session: Session, log_id: int) -> TemperatureLog:
    """One log that is not in the bin. Raises NotFound."""
    return _log(session, soft_delete.kept(session, TemperatureLogRow, log_id))


def hours(session: Session, log_id: int) -> HourlyTemperatures:
    """All hours of a log, gaps filled with nan. Raises StorageError for damage."""
    day = col(TemperatureDayRow.on_date)
    query = (
        sa.select(day, col(TemperatureDayRow.celsius))
        .where(col(TemperatureDayRow.log_id) == log_id)
        .order_by(day)
    )
    days = session.execute(query).all()
    first, last = days[0][0], days[-1][0]
    celsius = array("d", [math.nan]) * (((last - first).days + 1) * HOURS_A_DAY)
    for on, line in days:
        at = (on - first).days * HOURS_A_DAY
        celsius[at : at + HOURS_A_DAY] = hours_of(line)
    return HourlyTemperatures(first, celsius)


def put_in_bin(session: Session, log_id: int, now: datetime) -> int:
    """Out of sight; returns the number of its place. Raises NotFound."""
    return soft_delete.put(session, TemperatureLogRow, log_id, now).place_id


def restore(session: Session, log_id: int) -> int:
    """Out of the bin; returns the number of its place. Raises NotFound, and StaleEdit."""
    return soft_delete.taken_out(session, TemperatureLogRow, log_id).place_id


def binned(session: Session) -> list[tuple[int, int, str, datetime]]:
    """Number, number of the place, source and when, of each log in the bin."""
    found = soft_delete.binned(session, TemperatureLogRow)
    return [(number_of(row), row.place_id, row.source, when) for row, when in found]


def _log(session: Session, row: TemperatureLogRow) -> TemperatureLog:
    first, last = _span(session, number_of(row))
    return TemperatureLog(
        id=number_of(row),
        place_id=row.place_id,
        source=row.source,
        said=list_from_json(row.said),
        first_day=first,
        last_day=last,
        gives_way=row.gives_way,
        added_at=row.added_at,
    )


def _span(session: Session, log_id: int) -> tuple[date, date]:
    days = col(TemperatureDayRow.on_date)
    ends = sa.select(sa.func.min(days), sa.func.max(days))
    first, last = session.execute(ends.where(col(TemperatureDayRow.log_id) == log_id)).one()
    return first, last
