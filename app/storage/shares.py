"""Read-only links in the data file."""

import hashlib
from datetime import datetime

from sqlmodel import Session, col, select

from app.domain.errors import NotFound
from app.domain.share import Share
from app.storage.tables import ShareRow


def add(
    session: Session,
    battery_id: int,
    token: str,
    label: str,
    now: datetime,
    expires_at: datetime | None,
) -> Share:
    row = ShareRow(
        battery_id=battery_id,
        token=token,
        token_hash=_hash(token),
        label=label,
        created_at=now,
        expires_at=expires_at,
    )
    session.add(row)
    session.flush()
    return _share(row)


def by_token(session: Session, token: str) -> Share | None:
    row = session.exec(select(ShareRow).where(ShareRow.token_hash == _hash(token))).first()
    return None if row is None else _share(row)


def of_battery(session: Session, battery_id: int) -> list[Share]:
    query = (
        select(ShareRow)
        .where(ShareRow.battery_id == battery_id)
        .order_by(col(ShareRow.created_at).desc(), col(ShareRow.id).desc())
    )
    return [_share(row) for row in session.exec(query)]


def revoke(session: Session, share_id: int, now: datetime) -> Share:
    """Close a link for good; a second time changes nothing. Raises NotFound."""
    row = session.get(ShareRow, share_id)
    if row is None:
        raise NotFound(f"There is no link {share_id}.")
    if row.revoked_at is None:
        row.revoked_at = now
        session.add(row)
    return _share(row)


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _share(row: ShareRow) -> Share:
    if row.id is None:
        raise ValueError("a link is used before it was stored")
    return Share(
        row.id,
        row.battery_id,
        row.token,
        row.label,
        row.created_at,
        row.expires_at,
        row.revoked_at,
    )
