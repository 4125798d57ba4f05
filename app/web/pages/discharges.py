"""Pages of capacity tests: one test, and the form that makes or changes one."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response
from starlette.routing import NoMatchFound

from app.analysis.reports.discharge_report import DischargeReport
from app.charts.chart import Chart
from app.charts.discharge_chart import discharge_chart
from app.domain.entities.discharge import Discharge
from app.domain.entity_kind import EntityKind
from app.domain.errors import FadelineError, FieldError, problems_of
from app.domain.i18n.message import say
from app.domain.limits import MAX_NOTE_LENGTH
from app.domain.photo import MAX_PER_TEST, Photo
from app.domain.records.attachment import Attachment
from app.services.entities import batteries, discharges, doubts, imports, meters
from app.services.entities.doubts import StorageQuestion
from app.services.entities.previous_values import last_test
from app.services.exchange import upload_staging
from app.web.forms import previous_values
from app.web.forms.discharge_form import (
    DischargeFormPage,
    discharge_values,
    fits_rows,
    meter_options,
)
from app.web.forms.entry_way import WAY, of_other_ways, shown_way
from app.web.forms.form_reader import SEEN, FormReader, Posted, base_version, texts
from app.web.forms.typed_table import shows_counter, typed_rows
from app.web.forms.typed_units import as_typed_by
from app.web.lazy_routes import LazyRouter
from app.web.pages.discharge_submission import Step, kept_readings, original_of, take_step
from app.web.pages.long_tables import holds_a_long_table
from app.web.rendering.drawn_charts import drawn
from app.web.rendering.flash_message import came_in, edited, notice_of, stored_before
from app.web.rendering.rendering import Id, now_of, page, path_to, see_other, store_of
from app.web.request import reader_of
from app.web.security.heavy_work import heavy

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class DischargePage:
    """What discharge.html needs."""

    report: DischargeReport
    discharge: Discharge
    course: Chart | None
    files: tuple[Attachment, ...]
    photos: tuple[Photo, ...]
    problems: tuple[FieldError, ...]
    values: Mapping[str, str]
    questions: tuple[StorageQuestion, ...]
    came_with: int
    most_photos: int = MAX_PER_TEST


@router.get("/discharges/{discharge_id}", name="discharge")
def show_discharge(request: Request, discharge_id: Id) -> Response:
    return discharge_page(request, discharge_id, {}, ())


def discharge_page(
    request: Request, discharge_id: int, values: Mapping[str, str], problems: tuple[FieldError, ...]
) -> Response:
    """The page of a test; values and problems are those of its small forms, if refused."""
    view = discharges.show_discharge(store_of(request), discharge_id)
    course = drawn(request, "course", view.state, lambda: discharge_chart(view.report))
    context = DischargePage(
        view.report,
        view.discharge,
        course,
        view.files,
        view.photos,
        problems,
        values,
        view.questions,
        view.came_with,
    )
    status = 422 if problems else 200
    return page(request, "discharge.html", context, status, notice_of(request))


@router.get("/files/{attachment_id}", name="original_file")
def original_file(request: Request, attachment_id: Id) -> Response:
    """The file a test came from, as it came."""
    name, data = discharges.original_file(store_of(request), attachment_id)
    headers = {"Content-Disposition": f"attachment; filename*=utf-8''{quote(name, safe='')}"}
    return Response(data, media_type="application/octet-stream", headers=headers)


@router.get("/batteries/{battery_id}/discharges/new", name="new_discharge")
def new_discharge(request: Request, battery_id: Id) -> Response:
    proposed = previous_values.of_test(last_test(store_of(request), battery_id))
    asked = request.query_params.get(WAY, "")
    way = {WAY: asked} if asked else {}
    return _form_page(request, battery_id, None, Step({**proposed.values, **way}))


@router.post("/batteries/{battery_id}/discharges", name="add_discharge")
@heavy(holds_a_long_table)
def add_discharge(request: Request, battery_id: Id, form: Posted) -> Response:
    store = store_of(request)
    step = take_step(request, battery_id, form, None)
    if _stores_all(step):
        try:
            return _stored_all(request, battery_id, step)
        except FadelineError as error:
            step = step.against(error)
    if step.given is not None and step.is_answered and step.values.get("action") == "store":
        details, meter = step.given.details, step.given.meter
        try:
            test = discharges.add_discharge(
                store, battery_id, details, meter, now_of(request), original_of(store, step)
            )
        except FadelineError as error:
            step = step.against(error)
        else:
            return _stored(request, step, test)
    before = stored_before(request, battery_id, texts(form))
    return before or _form_page(request, battery_id, None, step)


@router.get("/discharges/{discharge_id}/edit", name="edit_discharge")
def edit_discharge(request: Request, discharge_id: Id) -> Response:
    test = discharges.show_discharge(store_of(request), discharge_id).discharge
    values = discharge_values(test.details) | {SEEN: str(test.version)}
    return _form_page(request, test.battery_id, test, Step(values))


@router.post("/discharges/{discharge_id}", name="change_discharge")
@heavy(holds_a_long_table)
def change_discharge(request: Request, discharge_id: Id, form: Posted) -> Response:
    store = store_of(request)
    test = discharges.show_discharge(store, discharge_id).discharge
    step = take_step(request, test.battery_id, form, test)
    if step.given is not None and step.is_answered and step.values.get("action") == "store":
        details, meter = step.given.details, step.given.meter
        try:
            original, seen = original_of(store, step), base_version(step.values)
            changed = discharges.change_discharge(
                store, discharge_id, details, meter, now_of(request), original, seen
            )
        except FadelineError as error:
            step = step.against(error)
        else:
            return _stored(request, step, changed, test.version)
    return _form_page(request, test.battery_id, test, step)


@router.post("/discharges/{discharge_id}/left-out", name="leave_out")
def leave_out(request: Request, discharge_id: Id, form: Posted) -> Response:
    """Leave a test out of the trend with a reason, or take it back in."""
    reader = FormReader(texts(form))
    back = bool(reader.raw("back"))
    reason = "" if back else reader.text("reason", say("reason"), MAX_NOTE_LENGTH, required=True)
    try:
        reader.finish()
        test = discharges.leave_out(store_of(request), discharge_id, reason, now_of(request))
    except FadelineError as error:
        values = {"reason": reader.raw("reason")}
        return discharge_page(request, discharge_id, values, problems_of(error))
    done = edited(EntityKind.DISCHARGE, discharge_id, test.version - 1)
    return see_other(request, "discharge", done=done, discharge_id=discharge_id)


@router.post("/discharges/{discharge_id}/meant", name="mean_it")
def mean_it(request: Request, discharge_id: Id) -> Response:
    """Keep the owner's word that what can hardly be is meant as it stands."""
    test = doubts.mean_it(store_of(request), discharge_id, now_of(request))
    done = edited(EntityKind.DISCHARGE, discharge_id, test.version - 1)
    return see_other(request, "discharge", done=done, discharge_id=discharge_id)


def _stores_all(step: Step) -> bool:
    ready = bool(step.several) and not step.problems and step.is_answered
    return ready and step.values.get("action") == "store"


def _stored_all(request: Request, battery_id: int, step: Step) -> Response:
    """Store every discharge of a file, or none."""
    store = store_of(request)
    assert step.staged is not None
    stored = imports.add_discharges(
        store,
        battery_id,
        [one.meant for one in step.several],
        now_of(request),
        original_of(store, step),
        upload_staging.import_uid_of(step.staged.name),
    )
    upload_staging.drop_staged(store, step.staged.name)
    done = came_in(battery_id, stored[0].details.import_uid)
    return see_other(request, "battery", done=done, battery_id=battery_id)


def _stored(request: Request, step: Step, test: Discharge, before: int = 0) -> Response:
    """Show the stored test, and what an edit changed of the version before."""
    if step.staged is not None:
        upload_staging.drop_staged(store_of(request), step.staged.name)
    done = edited(EntityKind.DISCHARGE, test.id, before, test.version)
    return see_other(request, "discharge", done=done, discharge_id=test.id)


def _past_tests(request: Request, battery_id: int) -> str:
    """The page for many tests at once; empty where this program has none."""
    try:
        return path_to(request, "past_tests", battery_id=battery_id)
    except NoMatchFound:
        return ""


def _form_page(request: Request, battery_id: int, test: Discharge | None, step: Step) -> Response:
    store = store_of(request)
    kept = kept_readings(test)
    source = None if step.staged is None else step.staged.source
    values = as_typed_by(reader_of(request), step.values)
    before = previous_values.of_test(last_test(store, battery_id) if test is None else None)
    context = DischargeFormPage(
        battery=batteries.get_battery(store, battery_id),
        discharge_id=None if test is None else test.id,
        kept_readings=None if kept is None else len(kept),
        values=values,
        rows=typed_rows(values),
        problems=step.problems,
        meter_options=meter_options(meters.list_meters(store)),
        staged=step.staged,
        report=step.report,
        course=None if step.report is None else discharge_chart(step.report, "preview"),
        assumptions=() if source is None else source.assumptions,
        again=before.said_of(step.values),
        questions=step.questions,
        several=step.several,
        counter=shows_counter(step.values),
        way=None if kept is not None and WAY not in step.values else shown_way(step.values),
        unused=step.unused,
        carried={} if step.staged is None else of_other_ways(step.values),
        correctable=fits_rows(source),
        past_tests=_past_tests(request, battery_id) if test is None else "",
    )
    unanswered = step.values.get("action") == "store" and not step.is_answered
    refused = step.problems or unanswered
    return page(request, "discharge_form.html", context, 422 if refused else 200)
