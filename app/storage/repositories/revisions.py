"""What edits replaced."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

from sqlmodel import Session, SQLModel, col, func, select

from app.domain.errors import NotFound, StorageError
from app.domain.i18n.message import say
from app.storage.schema.packing import pack_row, unpack_row
from app.storage.schema.row_values import of_values
from app.storage.schema.tables import RevisionRow

if TYPE_CHECKING:
    from _typeshed import DataclassInstance
    from sqlmodel.sql.expression import SelectOfScalar

Built = TypeVar("Built", bound="DataclassInstance")


@dataclass(frozen=True)
class KeptRow:
    """A row that an edit replaced, with the number under which it is kept."""

    number: int
    version: int
    replaced_at: datetime
    row: dict[str, Any]


def change(session: Session, row: SQLModel, columns: Mapping[str, Any], now: datetime) -> None:
    """Keep the row as it is, then set these columns and count its version up.

    A change that leaves everything as it was is none: nothing is kept and the version stays.
    """
    before = row.model_dump()
    for name, value in columns.items():
        setattr(row, name, value)
    if row.model_dump() == before:
        return
    session.add(
        RevisionRow(
            thing=str(row.__tablename__),
            thing_id=before["id"],
            version=before["version"],
            replaced_at=now,
            before=pack_row(before),
        )
    )
    row.version = before["version"] + 1
    session.add(row)


def of_thing(
    session: Session, thing: str, thing_id: int, up_to: int, most: int
) -> Iterator[KeptRow]:
    """Past versions of a thing from this one back."""
    query = (
        _of(thing, thing_id)
        .where(col(RevisionRow.version) <= up_to)
        .order_by(col(RevisionRow.version).desc(), col(RevisionRow.id).desc())
        .limit(most)
    )
    # One at a time: each may hold the readings of a long log.
    for number in session.exec(query).all():
        yield _kept(session, number)


def following(session: Session, thing: str, thing_id: int, version: int) -> KeptRow | None:
    """The past version that came after this one, None where that is the one in use."""
    query = (
        _of(thing, thing_id)
        .where(col(RevisionRow.version) > version)
        .order_by(col(RevisionRow.version), col(RevisionRow.id))
    )
    number = session.exec(query).first()
    return None if number is None else _kept(session, number)


def one(session: Session, thing: str, thing_id: int, number: int) -> KeptRow:
    """A past version by its own number. Raises NotFound where it is not one of this thing."""
    query = _of(thing, thing_id).where(RevisionRow.id == number)
    if session.exec(query).first() is None:
        raise NotFound(say("This {thing} has no such version.", thing=say(thing)))
    return _kept(session, number)


def _of(thing: str, thing_id: int) -> "SelectOfScalar[Any]":
    return select(RevisionRow.id).where(
        RevisionRow.thing == thing, RevisionRow.thing_id == thing_id
    )


def _kept(session: Session, number: int | None) -> KeptRow:
    columns = (RevisionRow.version, RevisionRow.replaced_at, RevisionRow.before)
    version, replaced_at, before = session.exec(
        select(*columns).where(RevisionRow.id == number)
    ).one()
    return KeptRow(number or 0, version, replaced_at, unpack_row(before))


def count(session: Session, thing: str, thing_id: int, below: int) -> int:
    """How many versions below this one are kept."""
    query = select(func.count()).where(
        RevisionRow.thing == thing, RevisionRow.thing_id == thing_id, RevisionRow.version < below
    )
    return session.exec(query).one()


def edited(session: Session, thing: str) -> frozenset[int]:
    """Numbers of the things of this kind that have a past version."""
    query = select(RevisionRow.thing_id).where(RevisionRow.thing == thing).distinct()
    return frozenset(session.exec(query))


def rebuilt(kind: type[Built], row: Mapping[str, Any]) -> Built:
    """What a kept row says, as it was entered. Raises StorageError where it cannot be read."""
    try:
        return of_values(kind, row)
    except (TypeError, ValueError) as error:
        raise StorageError(say("An earlier version is damaged in the data file.")) from error
