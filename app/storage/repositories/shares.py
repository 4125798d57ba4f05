"""Read-only links in the data file."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import ColumnElement
from sqlmodel import Session, col, or_, select

from app.domain.errors import NotFound
from app.domain.i18n.message import say
from app.domain.share import Share, SharePart
from app.domain.tokens import hash_token
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import ShareBesideRow, ShareRow


def add(
    session: Session,
    battery_id: int,
    token: str,
    label: str,
    now: datetime,
    expires_at: datetime | None,
    shows: Collection[SharePart] = tuple(SharePart),
    discharge_id: int | None = None,
    beside: Sequence[int] = (),
) -> Share:
    """Store a new link; without expires_at it does not end, with discharge_id it shows one test."""
    row = ShareRow(
        battery_id=battery_id,
        discharge_id=discharge_id,
        token=token,
        token_hash=hash_token(token),
        label=label,
        shows=",".join(part for part in SharePart if part in shows),
        created_at=now,
        expires_at=expires_at,
    )
    session.add(row)
    session.flush()
    made = _share(session, row)
    session.add_all(ShareBesideRow(share_id=made.id, battery_id=other) for other in beside)
    session.flush()
    return replace(made, beside=tuple(beside))


def by_token(session: Session, token: str) -> Share | None:
    """The link whose address holds that secret; None where there is none."""
    row = session.exec(select(ShareRow).where(ShareRow.token_hash == hash_token(token))).first()
    return None if row is None else _share(session, row)


def of_battery(session: Session, battery_id: int) -> list[Share]:
    """Every link of a battery, closed ones too, the newest first."""
    query = (
        select(ShareRow)
        .where(ShareRow.battery_id == battery_id)
        .order_by(col(ShareRow.created_at).desc(), col(ShareRow.id).desc())
    )
    return [_share(session, row) for row in session.exec(query)]


def shown_batteries(session: Session, now: datetime) -> set[int]:
    """The batteries that have an open link, those in the bin, too."""
    return set(session.exec(select(ShareRow.battery_id).where(*_open_at(now)).distinct()))


def open_ones(session: Session, now: datetime) -> list[Share]:
    """Every open link, the newest first; those of batteries in the bin, too."""
    query = (
        select(ShareRow)
        .where(*_open_at(now))
        .order_by(col(ShareRow.created_at).desc(), col(ShareRow.id).desc())
    )
    return [_share(session, row) for row in session.exec(query).all()]


def get(session: Session, share_id: int) -> Share:
    """One link. Raises NotFound."""
    return _share(session, _row(session, share_id))


def count_views(session: Session, token: str, count: int, last: datetime) -> None:
    """So many views more, the last of them then. A link that is gone meanwhile counts none."""
    row = session.exec(select(ShareRow).where(ShareRow.token_hash == hash_token(token))).first()
    if row is not None:
        row.views += count
        row.viewed_at = last
        session.add(row)


def revoke(session: Session, share_id: int, now: datetime) -> Share:
    """Close a link for good; a second time changes nothing. Raises NotFound."""
    row = _row(session, share_id)
    if row.revoked_at is None:
        row.revoked_at = now
        session.add(row)
    return _share(session, row)


def _open_at(now: datetime) -> tuple[ColumnElement[bool], ...]:
    ends = col(ShareRow.expires_at)
    return col(ShareRow.revoked_at).is_(None), or_(ends.is_(None), ends > now)


def _row(session: Session, share_id: int) -> ShareRow:
    row = session.get(ShareRow, share_id)
    if row is None:
        raise NotFound(say("There is no link {number}.", number=share_id))
    return row


def _share(session: Session, row: ShareRow) -> Share:
    beside = select(ShareBesideRow.battery_id).where(ShareBesideRow.share_id == row.id)
    return Share(
        id=number_of(row),
        battery_id=row.battery_id,
        token=row.token,
        label=row.label,
        created_at=row.created_at,
        expires_at=row.expires_at,
        revoked_at=row.revoked_at,
        discharge_id=row.discharge_id,
        beside=tuple(session.exec(beside.order_by(col(ShareBesideRow.id)))),
        shows=frozenset(SharePart(part) for part in row.shows.split(",") if part),
        views=row.views,
        viewed_at=row.viewed_at,
    )
