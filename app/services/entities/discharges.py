"""Use cases around one capacity test."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from sqlmodel import Session

from app.analysis.evidence.result import Result, analyse_test
from app.analysis.reports.discharge_report import (
    DischargeReport,
    discharge_report,
    first_measured,
    last_measured,
)
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.meter import Meter
from app.domain.entity_kind import EntityKind
from app.domain.errors import FieldError, InvalidInput, NotFound
from app.domain.i18n.message import say
from app.domain.photo import Photo
from app.domain.records.attachment import Attachment
from app.domain.units.column import ColumnUse
from app.domain.units.time_units import EARLIEST_YEAR
from app.services.entities.doubts import StorageQuestion, open_questions
from app.services.entities.edit_conflict import refuse_overtaken
from app.services.entities.meters import MeterChoice, meter_details, settle
from app.services.record_state import RecordState, state_of
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import attachments, batteries, discharges, meters, photos

CLOCKS_DIFFER = timedelta(minutes=5)
EARLIEST = datetime(EARLIEST_YEAR, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class DischargeView:
    """A test with its report and what only its owner sees.

    came_with is how many others came in with it and are still there; state is what report and
    questions hang on.
    """

    discharge: Discharge
    battery: Battery
    report: DischargeReport
    state: RecordState
    files: tuple[Attachment, ...]
    photos: tuple[Photo, ...]
    questions: tuple[StorageQuestion, ...]
    came_with: int


@dataclass(frozen=True)
class Original:
    """The file a test comes from, with what its columns were taken for."""

    name: str
    data: bytes
    header: tuple[str, ...]
    uses: tuple[ColumnUse, ...]


def show_discharge(store: Store, discharge_id: int) -> DischargeView:
    """One test. Raises NotFound."""
    with read_session(store.engine) as session:
        test = discharges.get(session, discharge_id)
        battery = batteries.get(session, test.battery_id)
        state = state_of(session, battery.id, None).with_more(discharge_id)
        report, questions, came_with = store.computed.get(
            "view", ("test", discharge_id, state), lambda: _looked_at(store, session, test, battery)
        )
        files = tuple(attachments.of_discharge(session, discharge_id))
        pictures = tuple(photos.of_discharge(session, discharge_id))
        return DischargeView(test, battery, report, state, files, pictures, questions, came_with)


def _looked_at(
    store: Store, session: Session, test: Discharge, battery: Battery
) -> tuple[DischargeReport, tuple[StorageQuestion, ...], int]:
    """A test's report, what is asked about it, and how many came in with it."""
    tests = discharges.of_battery(session, battery.id)
    report = report_on(store, session, test, battery, tests)
    uid = test.details.import_uid
    came_with = sum(bool(uid) and one.details.import_uid == uid for one in tests) - bool(uid)
    return report, open_questions(test, battery, tests), came_with


def report_on(
    store: Store,
    session: Session,
    test: Discharge,
    battery: Battery,
    tests: Sequence[Discharge] | None = None,
) -> DischargeReport:
    """Report on a stored test, inside the caller's session, which may have all tests at hand."""
    meter = meters.get(session, test.details.meter_id) if test.details.meter_id else None
    result = store.results.result(test, battery, meter)
    by_id = {meter.id: meter for meter in meters.all_kept(session)}
    in_order = tests or discharges.of_battery(session, battery.id)
    before = [one for one in in_order if one.details.started_at < test.details.started_at]

    def judged(one: Discharge) -> tuple[Discharge, Result]:
        return one, store.results.result(one, battery, by_id.get(one.details.meter_id or 0))

    # One by one: those between the first measured test and the last one are not needed.
    first = first_measured(map(judged, before), test)
    last = last_measured(map(judged, reversed(before)), test)
    return discharge_report(test, battery, meter, result, first, last)


def try_discharge(
    store: Store,
    battery_id: int,
    details: DischargeDetails,
    meter: MeterChoice,
    edited_id: int | None = None,
) -> DischargeReport:
    """Report on a test without storing it; edited_id is the test that it is to replace.

    Raises InvalidInput where it cannot be stored.
    """
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        details = _with_free_start(session, battery_id, details, edited_id or 0)
        if details.started_at in discharges.starts(session, battery_id, edited_id or 0):
            raise discharges.start_taken(details)
    about = meter_details(store, meter)
    result = analyse_test(details, battery.details, about)
    unstored = Discharge(0, battery_id, details, 0)
    return discharge_report(unstored, battery, Meter(0, about, 0), result)


def add_discharge(
    store: Store,
    battery_id: int,
    details: DischargeDetails,
    meter: MeterChoice,
    now: datetime,
    original: Original | None = None,
) -> Discharge:
    """Store a test, with a meter that is new or known. Raises InvalidInput and NotFound."""
    check_start(details, now)
    with write_transaction(store.engine) as session:
        battery = batteries.get(session, battery_id)
        test = add_judged(session, battery, details, meter)
        keep_original(session, test, original)
        return test


def change_discharge(
    store: Store,
    discharge_id: int,
    details: DischargeDetails,
    meter: MeterChoice,
    now: datetime,
    original: Original | None = None,
    seen: int | None = None,
) -> Discharge:
    """Replace a test, keeping what it replaces.

    Raises NotFound, InvalidInput, and EditConflict where another version than `seen` is stored.
    """
    with write_transaction(store.engine) as session:
        typed = replace(details, meter_id=settle(session, meter).id)
        refuse_overtaken(session, EntityKind.DISCHARGE, discharge_id, seen, typed)
        changed = replace_discharge(session, discharge_id, details, meter, now)
        keep_original(session, changed, original)
        return changed


def replace_discharge(
    session: Session,
    discharge_id: int,
    details: DischargeDetails,
    meter: MeterChoice | None,
    now: datetime,
) -> Discharge:
    """Store other details of a test inside the caller's transaction.

    meter is None where none was ever named.
    """
    check_start(details, now)
    test = discharges.get(session, discharge_id)
    battery = batteries.get(session, test.battery_id)
    details = _with_free_start(session, battery.id, details, discharge_id)
    judged = _judged(session, battery, details, meter)
    return discharges.change(session, discharge_id, judged, now)


def original_file(store: Store, attachment_id: int) -> tuple[str, bytes]:
    """Name and bytes of a kept file. Raises NotFound."""
    with read_session(store.engine) as session:
        return attachments.data(session, attachment_id)


def add_judged(
    session: Session, battery: Battery, details: DischargeDetails, meter: MeterChoice
) -> Discharge:
    """Store a test inside the caller's transaction, once it is known that it can be analysed."""
    details = _with_free_start(session, battery.id, details)
    return discharges.add(session, battery.id, _judged(session, battery, details, meter))


def _with_free_start(
    session: Session, battery_id: int, details: DischargeDetails, own_id: int = 0
) -> DischargeDetails:
    """A result of which only the day is known stands behind others of that day, by a minute."""
    if not details.is_only_result:
        return details
    taken = discharges.starts(session, battery_id, own_id)
    start = details.started_at
    while start in taken:
        start += timedelta(minutes=1)
    return replace(details, started_at=start)


def keep_original(session: Session, test: Discharge, original: Original | None) -> None:
    """Keep the file as evidence, and how its columns were read for the next of its shape."""
    if original is None:
        return
    attachments.add(session, test.id, original.name, original.data)
    if any(original.header):
        attachments.remember_shape(session, test.battery_id, original.header, original.uses)


def _judged(
    session: Session, battery: Battery, details: DischargeDetails, meter: MeterChoice | None
) -> DischargeDetails:
    """The test with its stored meter, once it is known that it can be analysed."""
    if meter is None:
        analyse_test(details, battery.details, None)
        return replace(details, meter_id=None)
    known = settle(session, meter)
    analyse_test(details, battery.details, known.details)
    return replace(details, meter_id=known.id)


def leave_out(store: Store, discharge_id: int, reason: str, now: datetime) -> Discharge:
    """Leave a test out of the trend, with the owner's reason; an empty one takes it back in.

    The test itself stays as it is. Raises NotFound.
    """
    with write_transaction(store.engine) as session:
        test = discharges.get(session, discharge_id)
        details = replace(test.details, left_out_reason=reason)
        return discharges.change(session, discharge_id, details, now)


def bin_discharge(store: Store, discharge_id: int, now: datetime) -> Discharge:
    """Move a test out of sight and out of the trend. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return discharges.put_in_bin(session, discharge_id, now)


def restore_discharge(store: Store, discharge_id: int) -> Discharge:
    """Take a test out of the bin.

    Raises InvalidInput while its battery lies there, and where the battery was changed meanwhile so
    that no page could judge the test.
    """
    with write_transaction(store.engine) as session:
        test = discharges.restore(session, discharge_id)
        refuse_binned_battery(session, test.battery_id)
        meter_id = test.details.meter_id
        meter = meters.get(session, meter_id).details if meter_id else None
        try:
            analyse_test(test.details, batteries.get(session, test.battery_id).details, meter)
        except InvalidInput as refused:
            said = say(
                "This test cannot be judged with the present data of its battery. {refused}",
                refused=refused,
            )
            raise InvalidInput([FieldError(said, "", "")]) from refused
        return test


def refuse_binned_battery(session: Session, battery_id: int) -> None:
    """Nothing is restored to a battery that lies in the bin itself."""
    try:
        batteries.get(session, battery_id)
    except NotFound:
        raise InvalidInput.because(
            say("restore"),
            say("what belongs to a battery in the bin"),
            say("its battery restored first"),
        ) from None


def check_start(details: DischargeDetails, now: datetime) -> None:
    """A test cannot have started in the future, nor before there were such batteries."""
    if not EARLIEST <= details.started_at <= now + CLOCKS_DIFFER:
        raise InvalidInput.because(
            say("start of the test"),
            say("{moment}", moment=details.started_local),
            say("a moment from 1970 up to now ({now})", now=now.astimezone()),
            "started_at",
        )
