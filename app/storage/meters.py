"""Meters in the data file."""

from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime
from typing import Any

from sqlmodel import Session, col, select

from app.domain.errors import NotFound
from app.domain.meter import Meter, MeterDetails, MeterKind
from app.domain.saying import say
from app.storage import revisions
from app.storage.ordering import in_byte_order
from app.storage.tables import MeterRow

_FIELDS = tuple(field.name for field in fields(MeterDetails))


def add(session: Session, details: MeterDetails) -> Meter:
    row = MeterRow(**{name: getattr(details, name) for name in _FIELDS})
    session.add(row)
    session.flush()
    return _meter(row)


def get(session: Session, meter_id: int) -> Meter:
    """One meter. Raises NotFound."""
    row = session.get(MeterRow, meter_id)
    if row is None:
        raise NotFound(say("There is no meter {number}.", number=meter_id))
    return _meter(row)


def change(session: Session, meter_id: int, details: MeterDetails, now: datetime) -> Meter:
    row = session.get(MeterRow, meter_id)
    if row is None:
        raise NotFound(say("There is no meter {number}.", number=meter_id))

    def apply() -> None:
        for name in _FIELDS:
            setattr(row, name, getattr(details, name))

    revisions.keep(session, "meter", row, now, apply)
    session.flush()
    return _meter(row)


def entered(row: Mapping[str, Any]) -> MeterDetails:
    """What a replaced row says. Raises StorageTrouble."""
    return revisions.rebuilt(MeterDetails, row)


def all_kept(session: Session) -> list[Meter]:
    query = select(MeterRow).order_by(in_byte_order(col(MeterRow.name)), col(MeterRow.id))
    return [_meter(row) for row in session.exec(query)]


def _meter(row: MeterRow) -> Meter:
    if row.id is None:
        raise ValueError("a meter is used before it was stored")
    values = {name: getattr(row, name) for name in _FIELDS}
    values["kind"] = MeterKind(row.kind)
    return Meter(row.id, MeterDetails(**values), row.version)
