"""A battery made ready to be sent: what a read-only link shows, with the readings."""

from dataclasses import replace
from datetime import date

from sqlmodel import Session

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import Meter, MeterDetails
from app.domain.readings import Readings, column
from app.domain.records.sent_battery import SENT_FIELDS, SentBattery, SentEvent, SentMeter, SentTest
from app.services.exchange.file_contents import write_sent
from app.services.exchange.upload_staging import waiting_path
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, discharges, events, meters
from app.storage.repositories.uids import lasting_names

MIN_READINGS = 30


def battery_to_send(
    store: Store, battery_id: int, as_of: date, program: str, *, demo: bool
) -> SentBattery:
    """A battery without anything private, its things numbered from 1. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        tests = discharges.of_battery(session, battery_id)
        numbers = _numbered_meters(tests)
        names = lasting_names(session, "event")
        happened = events.of_battery(session, battery_id)
        return SentBattery(
            uid=lasting_names(session, "battery")[battery_id],
            details=_shown(battery.details),
            meters=_meters(session, numbers),
            tests=_tests(session, tests, numbers),
            events=tuple(
                SentEvent(names[one.id], Event(number, 1, one.on_date, one.kind, ""))
                for number, one in enumerate(happened, start=1)
            ),
            as_of=as_of,
            demo=demo,
            program=program,
        )


def packed(store: Store, sent: SentBattery) -> bytes:
    """The data of the battery as the bytes of a ZIP."""
    path = waiting_path(store)
    try:
        write_sent(sent, path)
        return path.read_bytes()
    finally:
        path.unlink(missing_ok=True)


def thinned(sent: SentBattery, most: int) -> SentBattery:
    """The battery with at most so many readings a test, evenly picked, the first and the last
    among them."""
    most = max(most, MIN_READINGS)
    return replace(sent, tests=tuple(_thinned(one, most) for one in sent.tests))


def _thinned(one: SentTest, most: int) -> SentTest:
    readings = one.test.details.readings
    if len(readings) <= most:
        return one
    last = len(readings) - 1
    picked = [round(step * last / (most - 1)) for step in range(most)]
    columns = {
        name: column([getattr(readings, name)[i] for i in picked]) for name in readings.columns
    }
    details = replace(one.test.details, readings=Readings(**columns))
    return replace(one, test=replace(one.test, details=details))


def _shown(details: BatteryDetails) -> BatteryDetails:
    return BatteryDetails(**{name: getattr(details, name) for name in SENT_FIELDS["battery"]})


def _numbered_meters(tests: list[Discharge]) -> dict[int, int]:
    """Meters in order of their first test, by their number here."""
    used = dict.fromkeys(t.details.meter_id for t in tests if t.details.meter_id is not None)
    return {here: number for number, here in enumerate(used, start=1)}


# Files are compared word for word, whoever made them.
def _meters(session: Session, numbers: dict[int, int]) -> tuple[SentMeter, ...]:
    names = lasting_names(session, "meter")
    made = []
    for here, number in numbers.items():
        details = meters.get(session, here).details
        shown = {name: getattr(details, name) for name in SENT_FIELDS["meter"]}
        # Its own name stays at home.
        meter = Meter(number, MeterDetails(name=details.kind.label, **shown), 1)
        made.append(SentMeter(names[here], meter))
    return tuple(made)


def _tests(
    session: Session, tests: list[Discharge], numbers: dict[int, int]
) -> tuple[SentTest, ...]:
    names = lasting_names(session, "discharge")
    made = []
    for number, test in enumerate(tests, start=1):
        details = test.details
        shown = {name: getattr(details, name) for name in SENT_FIELDS["discharge"]}
        meter_id = None if details.meter_id is None else numbers[details.meter_id]
        sent = DischargeDetails(**shown, readings=details.readings, meter_id=meter_id, source="")
        made.append(SentTest(names[test.id], Discharge(number, 1, sent, 1), len(details.readings)))
    return tuple(made)
