"""Use cases around a battery."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Generic, TypeVar, cast

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
from app.services.entities.doubts import tests_in_question
from app.services.entities.edit_conflict import refuse_overtaken
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import (
    batteries,
    discharges,
    events,
    meters,
    places,
    report_digest,
    revisions,
    runs,
    shares,
)

T = TypeVar("T")
# What a list makes of a report and of the tests with open questions.
Show = Callable[[BatteryReport, tuple[int, ...]], T]
# What a screen can hold and a person look through; their results fit into memory.
A_PAGE = 40


@dataclass(frozen=True)
class BatteryView:
    """A battery's report with what only its owner sees.

    in_question are the tests with open questions, in the order of time.
    """

    battery: Battery
    report: BatteryReport
    in_question: tuple[int, ...]
    shares: tuple[Share, ...]
    runs: tuple[Run, ...]
    edited_events: frozenset[int]


@dataclass(frozen=True)
class Listing(Generic[T]):
    """A page of the batteries, by name, each as it is shown. found is how many there are whose name
    holds `find`."""

    shown: tuple[T, ...]
    found: int
    find: str
    first: int

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
        found, count = batteries.page_of(session, find, first, most)
        reports = tuple(build_report(store, session, one, today, by_id) for one in found)
        return Listing(reports, count, find, first)


def list_shown(store: Store, today: date, find: str, first: int, show: Show[T]) -> Listing[T]:
    """A page of the list with what `show` makes of each report, cached while its rows stay.

    Of a club's batteries the reports themselves would not fit into memory.
    """
    kept = _shown(store, today, find, first, show, only_kept=True)
    if kept is not None:
        return kept
    # Whoever waits for the turn holds no connection meanwhile.
    with store.listing:
        made = _shown(store, today, find, first, show, only_kept=False)
    return cast(Listing[T], made)


def _shown(
    store: Store,
    today: date,
    find: str,
    first: int,
    show: Show[T],
    *,
    only_kept: bool,
) -> Listing[T] | None:
    """The page; None where only what is kept is wanted and something of it is not."""
    with read_session(store.engine) as session:
        found, count = batteries.page_of(session, find, first, A_PAGE)
        states = report_digest.digests(session, [one.id for one in found])
        keys = {one.id: (states[one.id], today, show) for one in found}
        if only_kept and not all(key in store.listed for key in keys.values()):
            return None
        by_id = {meter.id: meter for meter in meters.all_kept(session)}

        def made(battery: Battery) -> T:
            return show(*_looked_at(store, session, battery, today, by_id))

        shown = tuple(store.listed.get(keys[one.id], partial(made, one)) for one in found)
        return Listing(cast(tuple[T, ...], shown), count, find, first)


def show_battery(store: Store, battery_id: int, today: date) -> BatteryView:
    """One battery. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        report, in_question = _looked_at(store, session, battery, today)
        links = tuple(shares.of_battery(session, battery_id))
        begun = tuple(runs.of_battery(session, battery_id))
        edited = revisions.edited(session, "event")
        return BatteryView(battery, report, in_question, links, begun, edited)


def show_curves(store: Store, battery_id: int) -> Curves:
    """The discharge curves of a battery. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        return curves_of(battery_id, battery.details.name, analysed(store, session, battery))


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
    """Load a battery's tests and events and report on them, inside the caller's session."""
    return _report_on(session, battery, today, analysed(store, session, battery, meters_by_id))


def _looked_at(
    store: Store,
    session: Session,
    battery: Battery,
    today: date,
    meters_by_id: dict[int, Meter] | None = None,
) -> tuple[BatteryReport, tuple[int, ...]]:
    """A battery's report, and the numbers of its tests with open questions."""
    tests = analysed(store, session, battery, meters_by_id)
    in_question = tests_in_question(battery, [test for test, _ in tests])
    return _report_on(session, battery, today, tests), in_question


def _report_on(
    session: Session, battery: Battery, today: date, tests: list[tuple[Discharge, Result]]
) -> BatteryReport:
    happened: Sequence[Event] = events.of_battery(session, battery.id)
    return battery_report(battery, tests, happened, today, lives_of(session, battery))


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
