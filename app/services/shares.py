"""Use cases around read-only links."""

import secrets
from datetime import datetime

from app.analysis.shared_report import SharedReport, shared_report
from app.domain.errors import LinkClosed, NotFound
from app.domain.share import Share
from app.services.batteries import build_report
from app.services.store import Store
from app.storage import batteries, shares
from app.storage.engine import reading, writing

TOKEN_BYTES = 24


def share_battery(
    store: Store, battery_id: int, label: str, expires_at: datetime | None, now: datetime
) -> Share:
    """Make an unguessable link (192 bits). Raises NotFound."""
    with writing(store.engine) as session:
        batteries.get(session, battery_id)
        token = secrets.token_urlsafe(TOKEN_BYTES)
        return shares.add(session, battery_id, token, label, now, expires_at)


def revoke_share(store: Store, share_id: int, now: datetime) -> Share:
    """Close a link for good. Raises NotFound."""
    with writing(store.engine) as session:
        return shares.revoke(session, share_id, now)


def open_share(store: Store, token: str, now: datetime) -> SharedReport:
    """What the link shows. Raises LinkClosed for a wrong, ended or revoked one alike."""
    with reading(store.engine) as session:
        share = shares.by_token(session, token)
        if share is None or not share.open_at(now):
            raise LinkClosed
        try:
            battery = batteries.get(session, share.battery_id)
        except NotFound:
            raise LinkClosed from None
        return shared_report(build_report(store, session, battery, now.astimezone().date()))
