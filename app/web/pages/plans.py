"""The plan of a test, and calendar files for it and for the next one due."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.test_day.plan import Plan
from app.domain import quantity
from app.domain.entities.battery import Battery
from app.domain.entities.meter import MeterKind
from app.domain.errors import FieldError, InvalidInput, NotFound
from app.domain.i18n.message import say
from app.services.entities import batteries, meters
from app.services.reports import planning
from app.services.reports.planning import PlanRequest
from app.web.forms.discharge_form import meter_choice, meter_options
from app.web.forms.form_reader import FormReader
from app.web.lazy_routes import LazyRouter
from app.web.rendering.calendar_file import CalendarEvent, calendar_response
from app.web.rendering.rendering import Id, now_of, page, store_of, today_of
from app.web.request import query_of, reader_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
DEFAULTS = {"reading_every_min": "60", "meter": MeterKind.SHUNT.value}


@dataclass(frozen=True)
class PlanPage:
    """What plan.html needs. plan is None until a current is given."""

    battery: Battery
    plan: Plan | None
    query: str
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    meter_options: tuple[tuple[str, str], ...]


@router.get("/batteries/{battery_id}/plan", name="plan")
def show_plan(request: Request, battery_id: Id) -> Response:
    store = store_of(request)
    values = {**DEFAULTS, **request.query_params}
    battery = batteries.get_battery(store, battery_id)
    plan: Plan | None = None
    problems: tuple[FieldError, ...] = ()
    if request.query_params:
        try:
            wish = _wish(values, now_of(request))
            battery, plan = planning.make_plan(store, battery_id, wish, today_of(request))
        except InvalidInput as refused:
            problems = refused.problems
    context = PlanPage(
        battery=battery,
        plan=plan,
        query=query_of(request),
        values=values,
        problems=problems,
        meter_options=meter_options(meters.list_meters(store)),
    )
    return page(request, "plan.html", context, 422 if problems else 200)


@router.get("/batteries/{battery_id}/plan.ics", name="plan_calendar")
def plan_calendar(request: Request, battery_id: Id) -> Response:
    """The test and its readings as a calendar file."""
    wish = _wish({**DEFAULTS, **request.query_params}, now_of(request))
    battery, plan = planning.make_plan(store_of(request), battery_id, wish, today_of(request))
    name = battery.details.name
    events = [
        CalendarEvent(
            f"Capacity test of {name}: load on",
            say("Capacity test of {name}: load on", name=name),
            say(
                "Is the battery charged full and rested? Switch on the load of {current_a:.3g} "
                "A. {plan}",
                current_a=plan.current_a,
                plan=plan.words,
            ),
            plan.start_at,
            timedelta(hours=plan.run_high_h),
            30,
        )
    ]
    events += [
        CalendarEvent(
            f"Reading {number} of {name}",
            say("Reading {number} of {name}", number=number, name=name),
            say("Note volts, amps, temperature and the gauge's percentage."),
            moment,
            timedelta(minutes=5),
        )
        for number, moment in enumerate(plan.readings_at, start=1)
    ]
    return calendar_response(
        events, f"capacity-test-{battery_id}", now_of(request), reader_of(request)
    )


@router.get("/batteries/{battery_id}/next-test.ics", name="next_test_calendar")
def next_test_calendar(request: Request, battery_id: Id) -> Response:
    """The next test as a calendar file."""
    report = batteries.show_battery(store_of(request), battery_id, today_of(request)).report
    due = report.next_test.due
    if due is None:
        raise NotFound(say("There is no test yet, so there is no next one to plan."))
    start = datetime(due.year, due.month, due.day, 8).astimezone()
    event = CalendarEvent(
        f"Capacity test of {report.name} is due",
        say("Capacity test of {name} is due", name=report.name),
        say(
            "{reason} Charge it full the day before and let it rest. Plan the day in Fadeline.",
            reason=report.next_test.words,
        ),
        start,
        timedelta(hours=1),
        24 * 60,
    )
    return calendar_response(
        [event], f"next-test-{battery_id}", now_of(request), reader_of(request)
    )


def _wish(values: Mapping[str, str], now: datetime) -> PlanRequest:
    form = FormReader(values)
    current = form.number("current_a", quantity.LOAD_CURRENT)
    every = form.number("reading_every_min", quantity.READING_EVERY)
    start = form.moment("start_at", say("start")) if form.raw("start_at") else None
    before = form.moment("end_before", say("end before")) if form.raw("end_before") else None
    meter = meter_choice(form)
    form.finish()
    day = start or before or now.astimezone() + timedelta(days=1)
    return PlanRequest(current, day, meter, every, start, None if start else before)
