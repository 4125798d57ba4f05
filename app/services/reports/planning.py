"""Use cases around planning a test."""

from dataclasses import dataclass
from datetime import date, datetime

from app.analysis.battery.expected_capacity import capacity_guess
from app.analysis.test_day.plan import Plan, plan_test
from app.domain.entities.battery import Battery
from app.services.entities import batteries
from app.services.entities.meters import MeterChoice, meter_details
from app.services.store import Store


@dataclass(frozen=True)
class PlanRequest:
    """What the owner wants of a test. Times are local, aware."""

    current_a: float
    day: datetime
    meter: MeterChoice
    reading_every_min: float
    start_at: datetime | None = None
    end_before: datetime | None = None


def make_plan(
    store: Store, battery_id: int, wish: PlanRequest, today: date
) -> tuple[Battery, Plan]:
    """Plan a test of a battery. Raises NotFound."""
    view = batteries.show_battery(store, battery_id, today)
    plan = plan_test(
        capacity_guess(view.report),
        wish.current_a,
        view.report.rated_ah,
        meter_details(store, wish.meter),
        wish.day,
        reading_every_min=wish.reading_every_min,
        start_at=wish.start_at,
        end_before=wish.end_before,
    )
    return view.battery, plan
