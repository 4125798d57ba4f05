"""Use case: batteries beside one another, or one before and after a move."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session

from app.analysis.ageing.exposure import ageing_rules
from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison import MIN_EACH_SIDE, enough_around, measured
from app.analysis.comparison.comparison_axis import (
    Axis,
    age_axis,
    equivalent_age_axis,
    throughput_axis,
)
from app.analysis.comparison.comparison_report import (
    Compared,
    ComparisonReport,
    compare_around_move,
    compare_batteries,
    day_of_move,
)
from app.analysis.comparison.overlaid_curves import newest_curves
from app.analysis.evidence.result import Result
from app.analysis.fade.fade_line import MIN_DAYS
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.heat.equivalent_age import equivalent_age
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.domain.entities.event import EventKind
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.services.entities.batteries import analysed, build_report
from app.services.reports.heat import history_of
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, events, places

MAX_COMPARED = 6
# Points of % of rated a year that further tests are to show, unless the owner asks otherwise.
USUALLY_SHOWN = 1.0
MAX_NAMED = 20
Tests = list[tuple[Discharge, Result]]
EquivalentYears = Callable[[date], float | None]


@dataclass(frozen=True)
class ComparisonWish:
    """What is to be compared: batteries by number, or one of them and the date of a move."""

    battery_ids: tuple[int, ...]
    moved_on: date | None = None
    shown_points: float = USUALLY_SHOWN


@dataclass(frozen=True)
class RecordedMove:
    """A move on the time axis of a battery."""

    battery_id: int
    battery_name: str
    on_date: date
    note: str


@dataclass(frozen=True)
class _Entered:
    battery: Battery
    tests: Tests
    compared: Compared
    equivalent_years: EquivalentYears | None

    @property
    def report(self) -> BatteryReport:
        return self.compared.report


def compare(store: Store, wish: ComparisonWish, today: date) -> ComparisonReport:
    """Compare rates of fade, trends and curves. Raises InvalidInput for what cannot be compared."""
    with read_session(store.engine) as session:
        kept = {battery.id: battery for battery in batteries.all_kept(session)}
        _check_choice(wish, kept)
        chosen = [_enter(store, session, kept[number], today) for number in wish.battery_ids]
    axes = _axes(chosen)
    if wish.moved_on is not None:
        return _around(chosen[0], wish.moved_on, wish.shown_points, axes)
    curves = newest_curves([(one.report.name, one.battery.details, one.tests) for one in chosen])
    return compare_batteries([one.compared for one in chosen], wish.shown_points, axes, curves)


def recorded_moves(store: Store) -> tuple[RecordedMove, ...]:
    """The moves of all batteries, by battery and date: events, and stays after the first."""
    with read_session(store.engine) as session:
        names = places.names(session)
        found = []
        for battery in batteries.all_kept(session):
            stays = places.stays_of(session, battery.id)[1:]
            moves = {
                stay.from_date: say("to {place}", place=names[stay.place_id]) for stay in stays
            }
            for event in events.of_battery(session, battery.id):
                if event.kind is EventKind.MOVED:
                    moves[event.on_date] = event.note or moves.get(event.on_date, "")
            found += [
                RecordedMove(battery.id, battery.details.name, on_date, note)
                for on_date, note in sorted(moves.items())
            ]
        return tuple(found)


def _enter(store: Store, session: Session, battery: Battery, today: date) -> _Entered:
    tests = analysed(store, session, battery)
    report = build_report(store, session, battery, today)
    rules = ageing_rules(battery.details.chemistry)
    return _Entered(
        battery,
        tests,
        Compared(report, battery.details.test_interval_days),
        equivalent_age(history_of(session, report, today), rules),
    )


def _check_choice(wish: ComparisonWish, kept: Mapping[int, Battery]) -> None:
    """Refuse a choice of batteries that cannot be compared."""
    where, field, ids = say("batteries to compare"), "battery", wish.battery_ids
    twice = [number for number in dict.fromkeys(ids) if ids.count(number) > 1]
    if twice:
        name = (
            kept[twice[0]].details.name
            if twice[0] in kept
            else say("number {number}", number=twice[0])
        )
        raise InvalidInput.because(
            where, say("{name} more than once", name=name), say("each battery once"), field
        )
    unknown = [number for number in ids if number not in kept]
    if unknown:
        numbers = ", ".join(str(number) for number in sorted(kept)[:MAX_NAMED])
        allowed = (
            say("numbers of your batteries: {numbers}", numbers=numbers)
            if kept
            else say("a battery; there is none")
        )
        raise InvalidInput.because(where, unknown[0], allowed, field)
    if wish.moved_on is not None and len(ids) > 1:
        allowed = say("a date only with a single battery, before and after its move")
        raise InvalidInput.because(say("date of the move"), wish.moved_on, allowed, "moved_on")
    fewest = 2 if wish.moved_on is None else 1
    if not fewest <= len(ids) <= MAX_COMPARED:
        allowed = say("2 to {most} batteries, or one with the date of a move", most=MAX_COMPARED)
        raise InvalidInput.because(where, len(ids), allowed, field)


def _around(
    one: _Entered, moved_on: date, shown_points: float, axes: Sequence[Axis]
) -> ComparisonReport:
    move_day, own = day_of_move(moved_on), measured(one.report.points)
    if not enough_around(own, move_day):
        raise _too_few(own, moved_on)
    late = {point.discharge_id for point in one.report.points if point.day > move_day}
    sides = ((say("before the move"), False), (say("after the move"), True))
    curves = newest_curves(
        [
            (
                name,
                one.battery.details,
                [pair for pair in one.tests if (pair[0].id in late) is after],
            )
            for name, after in sides
        ]
    )
    return compare_around_move(one.compared, moved_on, shown_points, axes, curves)


def _too_few(own: Sequence[TrendPoint], moved_on: date) -> InvalidInput:
    """Says what stands on either side, what is missing and which dates would do."""
    before = sum(1 for point in own if point.day <= day_of_move(moved_on))
    after = len(own) - before
    got = say(
        "{moved_on}, {before} measured before it and {after} after",
        moved_on=moved_on,
        before=before,
        after=after,
    )
    allowed = say(
        "a date with {fewest} measured tests or more on either side, the outermost at least "
        "{days:.0f} days away",
        fewest=MIN_EACH_SIDE,
        days=MIN_DAYS,
    )
    allowed += _needed(MIN_EACH_SIDE - before, MIN_EACH_SIDE - after)
    dates = _dates_that_would_do(own)
    if dates is None:
        allowed += say("; no date would do yet")
    else:
        allowed += say("; {first} to {last} would do", first=dates[0], last=dates[1])
    return InvalidInput.because(say("date of the move"), got, allowed, "moved_on")


def _needed(before: int, after: int) -> str:
    """How many tests are missing on either side; nothing where there are enough."""
    if before > 0 and after > 0:
        words = say(
            "(needed: {before} more before it and {after} more after it)",
            before=before,
            after=after,
        )
    elif before > 0:
        words = say("(needed: {count} more before it)", count=before)
    elif after > 0:
        words = say("(needed: {count} more after it)", count=after)
    else:
        return ""
    return " " + words


def _dates_that_would_do(own: Sequence[TrendPoint]) -> tuple[date, date] | None:
    if len(own) < 2 * MIN_EACH_SIDE:
        return None
    days = [date.fromordinal(int(point.day)) for point in own]
    month = timedelta(days=MIN_DAYS)
    first = max(days[MIN_EACH_SIDE - 1], days[0] + month)
    last = min(days[-MIN_EACH_SIDE] - timedelta(days=1), days[-1] - month)
    return (first, last) if first <= last else None


def _axes(chosen: Sequence[_Entered]) -> list[Axis]:
    """Age always; throughput and equivalent age where something is known of one battery."""
    reports = [one.report for one in chosen]
    axes = [age_axis(reports)]
    drawn = [one.battery.details.throughput_ah_a_year for one in chosen]
    if any(use is not None for use in drawn):
        axes.append(throughput_axis(reports, drawn))
    years = [one.equivalent_years for one in chosen]
    if any(one is not None for one in years):
        axes.append(equivalent_age_axis(reports, years))
    return axes
