"""Use cases around the road and the warranty: what a battery still does for its owner."""

from dataclasses import dataclass
from datetime import date

from app.analysis.nights.nights_report import RoadReport, RoadWish, road_report
from app.analysis.warranty.warranty_report import WarrantyReport, warranty_report
from app.domain.entities.battery import Battery
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.services.entities import batteries as use_cases
from app.services.record_state import RecordState, state_of
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, meters


@dataclass(frozen=True)
class RoadView:
    """The answer, and the batteries that could stand beside this one."""

    battery: Battery
    report: RoadReport
    state: RecordState
    others: tuple[Battery, ...]


def show_road(
    store: Store, battery_id: int, wish: RoadWish, beside_id: int | None, today: date
) -> RoadView:
    """Nights without charging. Raises NotFound, and InvalidInput (see road_report)."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        state = state_of(session, battery_id, today)
        report = use_cases.report_in(store, session, battery, state)
        beside = None
        if beside_id == battery_id:
            allowed = say("another battery than this one")
            raise InvalidInput.because(
                say("second battery"), battery.details.name, allowed, "beside"
            )
        if beside_id is not None:
            other = batteries.get(session, beside_id)
            beside = (other, use_cases.build_report(store, session, other, today))
            state = state.with_more(state_of(session, beside_id, today))
        others = tuple(one for one in batteries.all_kept(session) if one.id != battery_id)
    state = state.with_more(wish)
    key = ("road", battery_id, state)
    made = store.computed.get("view", key, lambda: road_report(battery, report, wish, beside))
    return RoadView(battery, made, state, others)


def show_warranty(store: Store, battery_id: int, today: date) -> WarrantyReport:
    """Warranty and worth. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        report = use_cases.build_report(store, session, battery, today)
        by_id = {meter.id: meter for meter in meters.all_kept(session)}
        tests = [
            (test, result, by_id.get(test.details.meter_id or 0))
            for test, result in use_cases.analysed(store, session, battery, by_id)
        ]
    return warranty_report(battery, report, tests)
