"""Pages of a battery: its answers, its curves and its form."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.battery.answers import Answer, next_due
from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.curves_answers import curves_answers
from app.analysis.comparison.discharge_curves import Curves
from app.analysis.evidence.verdict import likelihood
from app.charts.battery_chart import trend_chart
from app.charts.chart import Chart
from app.charts.curves_chart import curves_chart
from app.domain.entities.battery import Battery
from app.domain.entities.event import EventKind
from app.domain.entities.run import Run, RunState
from app.domain.entity_kind import EntityKind
from app.domain.errors import FadelineError, FieldError, problems_of, truncate
from app.domain.i18n.message import long_day, say
from app.domain.share import Share
from app.services.entities import batteries, runs
from app.services.entities.previous_values import last_battery
from app.web.forms import battery_form, previous_values
from app.web.forms.battery_form import (
    PARTS,
    THEN,
    battery_form_page,
    form_of,
    read_battery,
    wants_rows,
    with_part,
)
from app.web.forms.form_reader import Posted, asked_again, base_version, texts
from app.web.lazy_routes import LazyRouter
from app.web.rendering.drawn_charts import drawn
from app.web.rendering.flash_message import edited, notice_of
from app.web.rendering.rendering import (
    Id,
    now_of,
    page,
    see_other,
    store_of,
    today_of,
)
from app.web.request import path_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class BatteryPage:
    """What battery.html needs. trend is None where there is nothing to draw."""

    battery: Battery
    report: BatteryReport
    answers: tuple[Answer, ...]
    in_question: tuple[int, ...]
    trend: Chart | None
    runs: tuple[Run, ...]
    questioned_runs: frozenset[int]
    edited_events: frozenset[int]
    shares: tuple[Share, ...]
    now: datetime
    asked_on: str
    asked_words: str
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    event_kinds: tuple[EventKind, ...] = tuple(EventKind)


@dataclass(frozen=True)
class TestsPage:
    """What battery_tests.html needs."""

    report: BatteryReport
    in_question: tuple[int, ...]


@dataclass(frozen=True)
class CurvesPage:
    """What curves.html needs."""

    curves: Curves
    answers: tuple[Answer, ...]
    laid: Chart | None


@router.get("/batteries/new", name="new_battery")
def new_battery(request: Request) -> Response:
    before = previous_values.of_battery(last_battery(store_of(request)))
    values = {**battery_form.DEFAULTS, **before.values}
    context = battery_form_page(None, values, again=before.said_of(values))
    return page(request, "battery_form.html", context)


@router.post("/batteries", name="add_battery")
def add_battery(request: Request, form: Posted) -> Response:
    values = texts(form)
    if wants_rows(values):
        return page(request, "battery_form.html", battery_form_page(None, values))
    try:
        details = read_battery(values, today_of(request))
        added = batteries.add_battery(store_of(request), details)
    except FadelineError as error:
        context = battery_form_page(None, values, problems_of(error))
        return page(request, "battery_form.html", context, 422)
    return see_other(request, "battery", battery_id=added.id)


@router.get("/batteries/{battery_id}", name="battery")
def show_battery(request: Request, battery_id: Id) -> Response:
    return battery_page(request, battery_id, {}, ())


def battery_page(
    request: Request, battery_id: int, values: Mapping[str, str], problems: tuple[FieldError, ...]
) -> Response:
    """The page of a battery; values and problems are those of its small forms, if refused."""
    view = batteries.show_battery(store_of(request), battery_id, today_of(request))
    asked = request.query_params.get("on", "")[:20]
    context = BatteryPage(
        battery=view.battery,
        report=view.report,
        answers=_answers(view.report, view.runs),
        in_question=view.in_question,
        trend=drawn(request, "trend", view.state, lambda: trend_chart(view.report)),
        runs=view.runs,
        questioned_runs=runs.with_open_questions(store_of(request), view.runs, now_of(request)),
        edited_events=view.edited_events,
        shares=view.shares,
        now=now_of(request),
        asked_on=asked,
        asked_words=_asked(asked, view.report),
        values=values,
        problems=problems,
    )
    status = 422 if problems else 200
    return page(request, "battery.html", context, status, notice_of(request))


def _answers(report: BatteryReport, of_battery: Sequence[Run]) -> tuple[Answer, ...]:
    """Where a test is running, that is the next one."""
    if not any(run.state is RunState.RUNNING for run in of_battery):
        return report.answers
    return (*report.answers[:-1], next_due(report.next_test, report.as_of, running=True))


def _asked(text: str, report: BatteryReport) -> str:
    """The chance at a date of the owner's choice, in words."""
    if not text:
        return ""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        allowed = say("a date such as 2030-06-01")
        return FieldError(say("Date"), truncate(text), allowed).sentence
    if report.end_of_life.waits:
        return report.end_of_life.words
    chance = report.end_of_life.chance_on(day)
    if chance is None:
        return say("It takes a measured capacity to say.")
    return say(
        "On {day} it is {likely} that it still holds {threshold}.",
        day=long_day(day),
        likely=likelihood(chance),
        threshold=report.threshold_words,
    )


@router.get("/batteries/{battery_id}/tests", name="battery_tests")
def show_tests(request: Request, battery_id: Id) -> Response:
    """All tests in full; the page of the battery has the newest, in short."""
    view = batteries.show_battery(store_of(request), battery_id, today_of(request))
    return page(request, "battery_tests.html", TestsPage(view.report, view.in_question))


@router.get("/batteries/{battery_id}/curves", name="curves")
def show_curves(request: Request, battery_id: Id) -> Response:
    view = batteries.view_curves(store_of(request), battery_id, today_of(request))
    laid = drawn(request, "curves", view.state, lambda: curves_chart(view.curves))
    context = CurvesPage(view.curves, curves_answers(view.report), laid)
    return page(request, "curves.html", context)


@router.get("/batteries/{battery_id}/edit", name="edit_battery")
def edit_battery(request: Request, battery_id: Id) -> Response:
    battery = batteries.get_battery(store_of(request), battery_id)
    return page(request, "battery_form.html", form_of(battery))


@router.post("/batteries/{battery_id}", name="change_battery")
def change_battery(request: Request, battery_id: Id, form: Posted) -> Response:
    values = texts(form)
    then = values.get(THEN, "")
    return _change(request, battery_id, values, then if then in PARTS else "battery")


@router.post("/batteries/{battery_id}/road", name="change_road")
@router.post("/batteries/{battery_id}/warranty", name="change_warranty")
@router.post("/batteries/{battery_id}/heat", name="change_heat")
def change_part(request: Request, battery_id: Id, form: Posted) -> Response:
    """Store what one of the battery's pages asks for. Refused, it is the form of all of it."""
    part = path_of(request).rpartition("/")[2]
    details = batteries.get_battery(store_of(request), battery_id).details
    values = with_part(details, part, texts(form)) | {THEN: part}
    return _change(request, battery_id, values, part)


def _change(request: Request, battery_id: int, values: Mapping[str, str], then: str) -> Response:
    """Store a battery's form and go on to the page of that name."""
    if wants_rows(values):
        return page(request, "battery_form.html", battery_form_page(battery_id, values))
    try:
        details = read_battery(values, today_of(request))
        before = batteries.get_battery(store_of(request), battery_id).version
        changed = batteries.change_battery(
            store_of(request), battery_id, details, now_of(request), base_version(values)
        )
    except FadelineError as error:
        context = battery_form_page(battery_id, asked_again(values, error), problems_of(error))
        return page(request, "battery_form.html", context, 422)
    done = edited(EntityKind.BATTERY, battery_id, before, changed.version)
    return see_other(request, then, done=done, battery_id=battery_id)
