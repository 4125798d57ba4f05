"""Records of any size for benchmarks: a battery with its tests, and copies of it."""

import secrets
from typing import Any

from sqlalchemy import insert, select

from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges
from app.services.store import Store
from app.storage.database.engine import count_on, write_transaction
from app.storage.schema.tables import metadata
from tests.builders import NOW, battery_details, discharge_details, steady


def grow_battery(store: Store, tests: int, step_h: float = 1.0) -> int:
    """A battery with that many tests, a reading every step_h hours; its number."""
    battery = batteries.add_battery(store, battery_details(name="Battery 00000"))
    for number in range(tests):
        readings = steady(hours=11 - (number * 0.05) % 4 // step_h * step_h, step_h=step_h)
        details = discharge_details(readings, days_ago=10 + 3650 / tests * number)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    return battery.id


def grow_copies(store: Store, count: int) -> None:
    """Copies of the first battery with its tests, up to that many in all."""
    battery, discharge = metadata.tables["battery"], metadata.tables["discharge"]
    with store.engine.begin() as connection:
        (one,) = connection.execute(select(battery)).mappings()
        tests = connection.execute(select(discharge)).mappings().all()
        copies = [
            {**one, "id": number, "uid": secrets.token_hex(16), "name": f"Battery {number:05d}"}
            for number in range(2, count + 1)
        ]
        connection.execute(insert(battery), copies)
        for copy in copies:
            rows = [_of(dict(test), copy["id"]) for test in tests]
            connection.execute(insert(discharge), rows)
        if store.on_server:
            # A server looks at its tables by itself; the one that is thrown away does not.
            connection.exec_driver_sql("ANALYZE")
    with write_transaction(store.engine) as session:
        count_on(session, battery)


def _of(test: dict[str, Any], battery_id: int) -> dict[str, Any]:
    del test["id"]
    return test | {"battery_id": battery_id, "uid": secrets.token_hex(16)}
