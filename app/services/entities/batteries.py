"""Use cases around a battery."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Generic, TypeVar

from sqlmodel import Session

from app.analysis.ageing.temperature_history import typical_year
from app.analysis.battery.battery_report import BatteryReport, battery_report
from app.analysis.comparison.discharge_curves import Curves, curves_of
from app.analysis.evidence.result import Result
from app.analysis.projection.life_belief import UseAndClimate, circumstances
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.entities.discharge import Discharge
from app.domain.entities.event import Event
from app.domain.entities.meter import Meter
from app.domain.entities.run import Run
from app.domain.entity_kind import EntityKind
from app.domain.local_clock import day_here
from app.domain.share import Share
from app.services.computed import key_of
from app.services.entities.doubts import tests_in_question
from app.services.entities.edit_conflict import refuse_overtaken
from app.services.record_state import RecordState, state_of
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import (
    batteries,
    discharges,
    events,
    meters,
    places,
    revisions,
    runs,
    shares,
)

T = TypeVar("T")
# What a screen can hold and a person look through; their results fit into memory.
A_PAGE = 40
# The part of what is computed of a battery that is kept here.
_REPORT = "report"


@dataclass(frozen=True)
class LookedAt:
    """A battery's report, and its tests with open questions in the order of time."""

    report: BatteryReport
    in_question: tuple[int, ...]


@dataclass(frozen=True)
class BatteryView:
    """A battery's report with what only its owner sees.

    in_question are the tests with open questions, in the order of time; state is what the report
    hangs on.
    """

    battery: Battery
    report: BatteryReport
    state: RecordState
    in_question: tuple[int, ...]
    shares: tuple[Share, ...]
    runs: tuple[Run, ...]
    edited_events: frozenset[int]


@dataclass(frozen=True)
class Listing(Generic[T]):
    """A page of the batteries, by name, each as it is shown. found is how many there are whose name
    holds `find`; waiting is how many of those that were looked at are being computed still."""

    shown: tuple[T, ...]
    found: int
    find: str
    first: int
    waiting: int = 0

    @property
    def last(self) -> int:
        """The number behind the last one shown, counted from 0: where the next page begins."""
        return self.first + len(self.shown)


def list_batteries(
    store: Store, today: date, find: str = "", first: int = 0, most: int = A_PAGE
) -> Listing[BatteryReport]:
    """The reports of so many batteries by name, from number `first` on; none of the bin."""
    with read_session(store.engine) as session:
        by_id = {meter.id: meter for meter in meters.all_kept(session)}
        numbers, count = batteries.page_of(session, find, first, most)
        found = [batteries.get(session, number) for number in numbers]
        reports = tuple(build_report(store, session, one, today, by_id) for one in found)
        return Listing(reports, count, find, first)


def show_battery(store: Store, battery_id: int, today: date) -> BatteryView:
    """One battery. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        state = state_of(session, battery_id, today)
        looked = look_at(store, session, battery, state)
        links = tuple(map(store.views.counted_in, shares.of_battery(session, battery_id)))
        begun = tuple(runs.of_battery(session, battery_id))
        edited = revisions.edited(session, "event")
        view = BatteryView(battery, looked.report, state, looked.in_question, links, begun, edited)
    store.computed.write()
    return view


def show_curves(store: Store, battery_id: int) -> Curves:
    """The discharge curves of a battery. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        return curves_of(battery_id, battery.details.name, analysed(store, session, battery))


@dataclass(frozen=True)
class CurvesView:
    """A battery's discharge curves beside its report; state is what both hang on."""

    curves: Curves
    report: BatteryReport
    state: RecordState


def view_curves(store: Store, battery_id: int, today: date) -> CurvesView:
    """The discharge curves of a battery with its report. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        state = state_of(session, battery_id, today)
        report = report_in(store, session, battery, state)

        def made() -> Curves:
            tests = analysed(store, session, battery)
            return curves_of(battery_id, battery.details.name, tests)

        curves = store.computed.get("view", ("curves", battery_id, state), made)
    store.computed.write()
    return CurvesView(curves, report, state)


def all_batteries(store: Store) -> list[Battery]:
    """Every battery as it was entered, by name; none of the bin."""
    with read_session(store.engine) as session:
        return batteries.all_kept(session)


def get_battery(store: Store, battery_id: int) -> Battery:
    """A battery as it was entered. Raises NotFound."""
    with read_session(store.engine) as session:
        return batteries.get(session, battery_id)


def kept_batteries(store: Store) -> list[Battery]:
    """All batteries as they were entered, by name, without those in the bin."""
    with read_session(store.engine) as session:
        return batteries.all_kept(session)


def add_battery(store: Store, details: BatteryDetails) -> Battery:
    """Store a new battery; its values are checked by whoever made the details."""
    with write_transaction(store.engine) as session:
        return batteries.add(session, details)


def change_battery(
    store: Store,
    battery_id: int,
    details: BatteryDetails,
    now: datetime,
    seen: int | None = None,
) -> Battery:
    """Replace what is known of a battery, keeping what it replaces.

    Its tests are judged anew before anything is stored. Raises NotFound, InvalidInput where a test
    could no longer be judged, and EditConflict where another version than `seen` is stored.
    """
    with write_transaction(store.engine) as session:
        refuse_overtaken(session, EntityKind.BATTERY, battery_id, seen, details)
        return replace_battery(store, session, battery_id, details, now)


def replace_battery(
    store: Store, session: Session, battery_id: int, details: BatteryDetails, now: datetime
) -> Battery:
    """Store other details of a battery inside the caller's transaction."""
    changed = batteries.change(session, battery_id, details, now)
    build_report(store, session, changed, day_here(now))
    return changed


def bin_battery(store: Store, battery_id: int, now: datetime) -> Battery:
    """Move a battery with its tests out of sight. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return batteries.put_in_bin(session, battery_id, now)


def restore_battery(store: Store, battery_id: int) -> Battery:
    """Take a battery out of the bin. Raises StaleEdit where it was restored already."""
    with write_transaction(store.engine) as session:
        return batteries.restore(session, battery_id)


def build_report(
    store: Store,
    session: Session,
    battery: Battery,
    today: date,
    meters_by_id: dict[int, Meter] | None = None,
) -> BatteryReport:
    """A battery's report of what the caller's session sees; computed where it is not kept."""
    state = state_of(session, battery.id, today)
    return look_at(store, session, battery, state, meters_by_id).report


def report_in(
    store: Store, session: Session, battery: Battery, state: RecordState
) -> BatteryReport:
    """The report on a battery in that state, as it was made before."""
    return look_at(store, session, battery, state).report


def look_at(
    store: Store,
    session: Session,
    battery: Battery,
    state: RecordState,
    meters_by_id: dict[int, Meter] | None = None,
) -> LookedAt:
    """A battery's report with its tests that have open questions; computed where it is not kept."""
    key, today = key_of(_REPORT, state), state.today
    assert today is not None
    kept = store.computed.find(session, _REPORT, LookedAt, {battery.id: key})
    if battery.id in kept:
        return kept[battery.id]
    tests = analysed(store, session, battery, meters_by_id)
    happened: Sequence[Event] = events.of_battery(session, battery.id)
    report = battery_report(battery, tests, happened, today, lives_of(session, battery))
    made = LookedAt(report, tests_in_question(battery, [test for test, _ in tests]))
    store.computed.put(_REPORT, battery.id, key, made)
    return made


def lives_of(session: Session, battery: Battery) -> UseAndClimate:
    """How a battery lives: its use, and the typical year of the place where it is now."""
    stays = places.stays_of(session, battery.id)
    year = typical_year(places.get(session, stays[-1].place_id).details) if stays else None
    return circumstances(battery.details, year)


def analysed(
    store: Store,
    session: Session,
    battery: Battery,
    meters_by_id: dict[int, Meter] | None = None,
) -> list[tuple[Discharge, Result]]:
    """The battery's tests with their results, inside the caller's session."""
    if meters_by_id is None:
        meters_by_id = {meter.id: meter for meter in meters.all_kept(session)}
    return [
        (test, store.results.result(test, battery, meters_by_id.get(test.details.meter_id or 0)))
        for test in discharges.of_battery(session, battery.id)
    ]
