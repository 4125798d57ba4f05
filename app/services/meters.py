"""Use cases around meters."""

from app.domain.meter import Meter, MeterDetails
from app.services.store import Store
from app.storage import meters
from app.storage.engine import reading, writing


def list_meters(store: Store) -> list[Meter]:
    with reading(store.engine) as session:
        return meters.all_kept(session)


def get_meter(store: Store, meter_id: int) -> Meter:
    """One meter. Raises NotFound."""
    with reading(store.engine) as session:
        return meters.get(session, meter_id)


def add_meter(store: Store, details: MeterDetails) -> Meter:
    with writing(store.engine) as session:
        return meters.add(session, details)
