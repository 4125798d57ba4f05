"""Use cases around the warmth that a battery lives in."""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlmodel import Session

from app.analysis.ageing.temperature_history import (
    PlaceTemperatures,
    TemperatureHistory,
    temperature_history,
)
from app.analysis.battery.battery_report import BatteryReport
from app.analysis.heat.heat_report import HeatReport, heat_report
from app.domain.entities.battery import Battery
from app.domain.entities.place import Place, Stay
from app.domain.temperature_log import HourlyTemperatures
from app.services.entities.batteries import report_in
from app.services.record_state import RecordState, state_of
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, places, temperature_logs
from app.storage.repositories.change_stamps import stamp_of_logs


@dataclass(frozen=True)
class HeatView:
    """A battery's heat with what only its owner sees: its stays, and the places to choose from."""

    battery: Battery
    report: HeatReport
    state: RecordState
    stays: tuple[tuple[Stay, str], ...]
    places: tuple[Place, ...]


def show_heat(store: Store, battery_id: int, today: date) -> HeatView:
    """How warm a battery had it and what that explains. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        state = state_of(session, battery_id, today)
        fade = report_in(store, session, battery, state)
        stays = places.stays_of(session, battery_id)
        known = {place.id: place for place in places.all_kept(session)}
        state = state.with_more(stamp_of_logs(session))

        def made() -> HeatReport:
            history = _history(session, stays, known, *_life(fade, stays, today))
            return heat_report(fade, battery.details, history, _of_tests(fade))

        report = store.computed.get("view", ("heat", battery_id, state), made)
        named = tuple((stay, known[stay.place_id].details.name) for stay in stays)
        return HeatView(battery, report, state, named, tuple(known.values()))


def history_of(session: Session, fade: BatteryReport, today: date) -> TemperatureHistory:
    """A battery's temperatures, inside the caller's session."""
    stays = places.stays_of(session, fade.id)
    known = {place.id: place for place in places.all_kept(session)}
    return _history(session, stays, known, *_life(fade, stays, today))


def _life(fade: BatteryReport, stays: list[Stay], today: date) -> tuple[date, date]:
    """From its first day in use, or the first that anything is known of, to today."""
    first = [stay.from_date for stay in stays[:1]]
    first += [test.started_at.date() for test in fade.tests[:1]]
    begin = fade.in_service_since or min(first, default=today)
    return min(begin, today), today + timedelta(days=1)


def _history(
    session: Session,
    stays: list[Stay],
    known: dict[int, Place],
    from_day: date,
    to_day: date,
) -> TemperatureHistory:
    at = {
        place_id: PlaceTemperatures(known[place_id].details, _logs(session, place_id))
        for place_id in {stay.place_id for stay in stays}
    }
    return temperature_history(
        [(stay.from_date, at[stay.place_id]) for stay in stays], from_day, to_day
    )


def _logs(session: Session, place_id: int) -> tuple[HourlyTemperatures, ...]:
    """The logs of a place, those first that count where several know an hour."""
    logs = temperature_logs.of_place(session, place_id)
    # Of two that both insist, the newer one was added knowing the older.
    ordered = sorted(logs, key=lambda log: (log.gives_way, -log.id))
    return tuple(temperature_logs.hours(session, log.id) for log in ordered)


def _of_tests(fade: BatteryReport) -> list[tuple[float, float]]:
    """Mean temperature and hours of each test that noted one."""
    return [
        (test.temperature_c, test.duration_h)
        for test in fade.tests
        if test.temperature_c is not None and test.duration_h is not None
    ]
