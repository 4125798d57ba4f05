"""Use cases around tests that come in together: stored all or none, taken back in one step."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import uuid4

from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.errors import NotFound
from app.domain.i18n.message import say
from app.services.entities.discharges import Original, add_judged, check_start, keep_original
from app.services.entities.meters import MeterChoice
from app.services.store import Store
from app.storage.database.engine import write_transaction
from app.storage.repositories import batteries, discharges


@dataclass(frozen=True)
class NewTest:
    """A test that is stored together with others."""

    details: DischargeDetails
    meter: MeterChoice


def add_discharges(
    store: Store,
    battery_id: int,
    tests: Sequence[NewTest],
    now: datetime,
    original: Original | None = None,
) -> list[Discharge]:
    """Store tests that come in together, all or none; original is the file of all of them.

    They share an import_uid, by which take_back_import finds them. Raises InvalidInput and
    NotFound.
    """
    import_uid = uuid4().hex
    for one in tests:
        check_start(one.details, now)
    with write_transaction(store.engine) as session:
        battery = batteries.get(session, battery_id)
        stored = []
        for one in tests:
            details = replace(one.details, import_uid=import_uid)
            stored.append(add_judged(session, battery, details, one.meter))
            keep_original(session, stored[-1], original)
        return stored


def take_back_import(
    store: Store, battery_id: int, import_uid: str, now: datetime
) -> list[Discharge]:
    """Move to the bin what came in together. Raises NotFound where nothing of it is left."""
    with write_transaction(store.engine) as session:
        found = discharges.of_import(session, battery_id, import_uid)
        if not found:
            raise NotFound(say("Of this import nothing is left to take back."))
        return [discharges.put_in_bin(session, one.id, now) for one in found]
