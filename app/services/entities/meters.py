"""Use cases around meters."""

from datetime import datetime

from sqlmodel import Session

from app.domain.entities.meter import Meter, MeterDetails, MeterKind, typical
from app.domain.entity_kind import EntityKind
from app.services.entities.edit_conflict import refuse_overtaken
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import meters

# A stored meter by its number, or a typical one by its kind.
MeterChoice = int | MeterKind


def list_meters(store: Store) -> list[Meter]:
    """Every stored meter by name."""
    with read_session(store.engine) as session:
        return meters.all_kept(session)


def add_meter(store: Store, details: MeterDetails) -> Meter:
    """Store a new meter; its limits are checked by whoever made the details."""
    with write_transaction(store.engine) as session:
        return meters.add(session, details)


def get_meter(store: Store, meter_id: int) -> Meter:
    """One meter. Raises NotFound."""
    with read_session(store.engine) as session:
        return meters.get(session, meter_id)


def change_meter(
    store: Store, meter_id: int, details: MeterDetails, now: datetime, seen: int | None = None
) -> Meter:
    """Replace a meter's limits, keeping what they were; its tests are judged anew.

    Raises NotFound, and EditConflict where another version than `seen` is stored.
    """
    with write_transaction(store.engine) as session:
        refuse_overtaken(session, EntityKind.METER, meter_id, seen, details)
        return meters.change(session, meter_id, details, now)


def meter_details(store: Store, choice: MeterChoice) -> MeterDetails:
    """The limits of a choice. Raises NotFound."""
    if isinstance(choice, MeterKind):
        return typical(choice)
    with read_session(store.engine) as session:
        return meters.get(session, choice).details


def settle(session: Session, choice: MeterChoice) -> Meter:
    """The stored meter of a choice. A typical one is stored once and shared by all its tests."""
    if not isinstance(choice, MeterKind):
        return meters.get(session, choice)
    # Known again by its name, whatever the language in which it was made.
    details = typical(choice)
    known = next((m for m in meters.all_kept(session) if m.details == details), None)
    return known or meters.add(session, details)
