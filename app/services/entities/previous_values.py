"""What was chosen the last time, to be proposed the next."""

from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, discharges


def last_test(store: Store, battery_id: int) -> Discharge | None:
    """The battery's test that began last; None where there is none yet."""
    with read_session(store.engine) as session:
        tests = discharges.of_battery(session, battery_id)
    return max(tests, key=lambda test: test.details.started_at, default=None)


def last_battery(store: Store) -> Battery | None:
    """The battery that was added last; None where there is none yet."""
    with read_session(store.engine) as session:
        return max(batteries.all_kept(session), key=lambda battery: battery.id, default=None)
