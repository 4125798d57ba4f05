"""Whether anything of a battery has changed: equal stamps, equal rows (see `change_triggers`)."""

import secrets
from collections.abc import Collection

from sqlalchemy import bindparam, select
from sqlmodel import Session

from app.storage.schema.change_triggers import EVERY_BATTERY, TEMPERATURE_LOGS
from app.storage.schema.computed_table import CHANGE_STAMP

# Made once: to put a statement together takes longer than to run it.
_QUERY = select(CHANGE_STAMP).where(CHANGE_STAMP.c.owner.in_(bindparam("owners", expanding=True)))


def stamps(session: Session, battery_ids: Collection[int]) -> dict[int, str]:
    """By battery: equal as long as it, its tests, its events, its stays, all meters and places
    are."""
    found = _found(session, [EVERY_BATTERY, *battery_ids])
    return {number: f"{found[EVERY_BATTERY]} {found[number]}" for number in battery_ids}


def stamp_of_logs(session: Session) -> str:
    """Equal as long as all temperature logs are."""
    return _found(session, [TEMPERATURE_LOGS])[TEMPERATURE_LOGS]


def _found(session: Session, owners: list[int]) -> dict[int, str]:
    # What the session has changed is in no row before.
    session.flush()
    rows = session.connection().execute(_QUERY, {"owners": owners})
    found = {row.owner: row.stamp for row in rows}
    # Of what has no stamp nothing is known: one that nothing else can have.
    return {owner: found.get(owner) or secrets.token_hex(16) for owner in owners}
