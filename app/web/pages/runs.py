"""Pages of a running test."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.analysis.plausibility.run_questions import ReadingQuestion, asked_together
from app.analysis.test_day.run_corrections import corrections
from app.analysis.test_day.running import RunningReport
from app.charts.chart import Chart
from app.charts.run_chart import run_chart
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.domain.entities.run import Run, RunReading
from app.domain.errors import FadelineError, FieldError, problems_of
from app.domain.i18n.message import say
from app.domain.limits import MAX_NOTE_LENGTH
from app.services.entities import batteries, meters, runs
from app.services.entities.previous_values import last_test
from app.services.entities.run_views import RunView
from app.web.forms import previous_values
from app.web.forms.discharge_form import meter_options
from app.web.forms.form_reader import FormReader, Posted, texts
from app.web.forms.run_form import read_end, read_reading, read_start
from app.web.forms.test_choices import Choice, charge_choices, end_choices
from app.web.lazy_routes import LazyRouter
from app.web.rendering.feed_access import EXAMPLE_A, FeedAccess, feed_access
from app.web.rendering.joining_view import CodeToScan, JoiningView, joining_view
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
# A device that sends another unit is wrong in every reading: the newest few say it.
MAX_ASKED = 5


@dataclass(frozen=True)
class RunStartPage:
    """What run_start.html needs. again says which earlier test a value is taken from."""

    battery: Battery
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    meter_options: tuple[tuple[str, str], ...]
    again: Mapping[str, str]
    charge_choices: tuple[Choice, ...] = field(default_factory=charge_choices)


@dataclass(frozen=True)
class Asked:
    """A reading with its questions, and all readings that raise just the same one, oldest first."""

    reading: RunReading
    questions: tuple[ReadingQuestion, ...]
    alike: tuple[RunReading, ...]


@dataclass(frozen=True)
class RunPage:
    """What run.html needs. feed has the word of a feed, shown once, when it is made.

    readings are the newest of all count ones, the newest first; counters: some have a counter.
    changed is a reading whose change was refused, with what was typed; corrections says what
    readings were before. asked are the newest readings with open questions, asked_at says at which
    of them a reading is asked about; open are all that have a question.
    joining is of phones, None on a phone that joined.
    """

    run: Run
    battery: Battery
    report: RunningReport
    count: int
    counters: bool
    readings: tuple[RunReading, ...]
    last: RunReading | None
    counted: Chart | None
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    feed: FeedAccess | None
    changed: tuple[int, Mapping[str, str]] | None
    corrections: tuple[str, ...]
    asked: tuple[Asked, ...]
    asked_at: Mapping[int, int]
    open: frozenset[int]
    joining: JoiningView | None
    end_choices: tuple[Choice, ...] = field(default_factory=end_choices)


@router.get("/batteries/{battery_id}/runs/new", name="new_run")
def new_run(request: Request, battery_id: Id) -> Response:
    return _start_page(request, battery_id, dict(request.query_params), ())


@router.post("/batteries/{battery_id}/runs", name="start_run")
def start_run(request: Request, battery_id: Id, form: Posted) -> Response:
    values = texts(form)
    now = now_of(request)
    try:
        details, meter = read_start(values, now)
        run = runs.start_run(store_of(request), battery_id, details, meter, now)
    except FadelineError as error:
        return _start_page(request, battery_id, values, problems_of(error))
    return see_other(request, "run", run_id=run.id)


@router.get("/runs/{run_id}", name="run")
def show_run(request: Request, run_id: Id) -> Response:
    return run_page(request, run_id, {}, ())


@router.post("/runs/{run_id}/readings", name="note_reading")
def note_reading(request: Request, run_id: Id, form: Posted) -> Response:
    values, now = texts(form), now_of(request)
    try:
        run = runs.get_run(store_of(request), run_id)
        given = read_reading(values, now, run.details)
        timed = bool(values.get("clock", "").strip())
        runs.note_reading(store_of(request), run_id, given, now, timed=timed)
    except FadelineError as error:
        return run_page(request, run_id, values, problems_here(error))
    return see_other(request, "run", run_id=run_id)


@router.post("/runs/{run_id}/readings/{reading_id}", name="change_reading")
def change_reading(request: Request, run_id: Id, reading_id: Id, form: Posted) -> Response:
    """Correct a reading, strike it out with a reason, or take it back."""
    values, now, store = texts(form), now_of(request), store_of(request)
    try:
        if values.get("action") == "strike":
            reader = FormReader(values)
            reason = reader.text("reason", say("reason"), MAX_NOTE_LENGTH, required=True)
            reader.finish()
            runs.strike_reading(store, run_id, reading_id, reason, now)
        elif values.get("action") == "back":
            runs.strike_reading(store, run_id, reading_id, "", now)
        else:
            run = runs.get_run(store, run_id)
            before = runs.get_reading(store, run_id, reading_id)
            given = read_reading(values, now, run.details, before.given.at)
            runs.correct_reading(store, run_id, reading_id, given, now)
    except FadelineError as error:
        problems = problems_here(error, f"_of_{reading_id}")
        return run_page(request, run_id, {}, problems, changed=(reading_id, values))
    return see_other(request, "run", run_id=run_id)


def problems_here(error: FadelineError, behind: str = "") -> tuple[FieldError, ...]:
    """Problems of a reading at the fields of this page: a moment is typed as a time of day."""
    named = ((one, "clock" if one.field == "at" else one.field) for one in problems_of(error))
    return tuple(replace(one, field=f"{name}{behind}" if name else "") for one, name in named)


@router.post("/runs/{run_id}/end", name="end_run")
def end_run(request: Request, run_id: Id, form: Posted) -> Response:
    ended = end_or_refuse(request, run_id, form)
    if isinstance(ended, Response):
        return ended
    return see_other(request, "discharge", discharge_id=ended.id)


def end_or_refuse(request: Request, run_id: int, form: FormData) -> Discharge | Response:
    """The test that a run became; its page with what is wrong, where it runs on."""
    values, now = texts(form), now_of(request)
    try:
        run = runs.get_run(store_of(request), run_id)
        reason, ended_at = read_end(values, now, run.details)
        return runs.end_run(store_of(request), run_id, reason, ended_at)
    except FadelineError as error:
        return run_page(request, run_id, values, problems_of(error))


@router.post("/runs/{run_id}/abandon", name="abandon_run")
def abandon_run(request: Request, run_id: Id) -> Response:
    runs.abandon_run(store_of(request), run_id)
    return see_other(request, "run", run_id=run_id)


@router.post("/runs/{run_id}/resume", name="resume_run")
def resume_run(request: Request, run_id: Id) -> Response:
    """Take up a run again that was given up."""
    try:
        runs.resume_run(store_of(request), run_id)
    except FadelineError as error:
        return run_page(request, run_id, {}, problems_of(error))
    return see_other(request, "run", run_id=run_id)


@router.post("/runs/{run_id}/feed", name="open_feed")
def open_feed(request: Request, run_id: Id) -> Response:
    """Make a feed's word and show it, once."""
    word = runs.open_feed(store_of(request), run_id)
    return run_page(request, run_id, {}, (), word)


@router.post("/runs/{run_id}/feed/close", name="close_feed")
def close_feed(request: Request, run_id: Id) -> Response:
    runs.close_feed(store_of(request), run_id)
    return see_other(request, "run", run_id=run_id)


def _asked(view: RunView) -> tuple[Asked, ...]:
    """The newest readings that are asked about, each with its questions."""
    reading_of = {one.id: one for one in view.asked}
    asked: list[Asked] = []
    for group in asked_together(view.report.questions):
        alike = tuple(reading_of[number] for number in dict.fromkeys(q.reading_id for q in group))
        newest = alike[-1]
        own = tuple(one for one in group if one.reading_id == newest.id)
        asked.append(Asked(newest, own, alike))
    newest_first = [one.id for one in view.asked]
    asked.sort(key=lambda one: newest_first.index(one.reading.id))
    return tuple(asked[:MAX_ASKED])


def _start_page(
    request: Request, battery_id: int, values: Mapping[str, str], problems: tuple[FieldError, ...]
) -> Response:
    store = store_of(request)
    before = previous_values.of_test(last_test(store, battery_id))
    values = {"reading_every_min": "60", **({} if problems else before.values), **values}
    context = RunStartPage(
        battery=batteries.get_battery(store, battery_id),
        values=values,
        problems=problems,
        meter_options=meter_options(meters.list_meters(store)),
        again=before.said_of(values),
    )
    return page(request, "run_start.html", context, 422 if problems else 200)


def run_page(
    request: Request,
    run_id: int,
    values: Mapping[str, str],
    problems: tuple[FieldError, ...],
    word: str = "",
    changed: tuple[int, Mapping[str, str]] | None = None,
    code: CodeToScan | None = None,
) -> Response:
    view = runs.show_run(store_of(request), run_id, now_of(request))
    last = view.last
    current_a = last.given.current_a if last else EXAMPLE_A
    asked = _asked(view)
    context = RunPage(
        run=view.run,
        battery=view.battery,
        report=view.report,
        count=view.count,
        counters=view.counters,
        readings=view.readings[::-1],
        last=last,
        counted=run_chart(view.report),
        values=values,
        problems=problems,
        feed=feed_access(request, str(run_id), word, current_a) if word else None,
        changed=changed,
        corrections=corrections(view.run.details, view.changed, view.former),
        asked=asked,
        asked_at={one.id: each.reading.id for each in asked for one in each.alike},
        open=frozenset(one.reading_id for one in view.report.questions),
        joining=joining_view(request, run_id, code),
    )
    response = page(request, "run.html", context, 422 if problems else 200)
    if word or code:
        # Shown once: not even kept for whoever goes back to it.
        response.headers["Cache-Control"] = "no-store"
    return response
