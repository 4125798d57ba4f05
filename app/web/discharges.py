"""Pages of capacity tests: one test, and the form that makes or changes one."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.analysis.discharge_report import DischargeReport
from app.charts.discharge_chart import discharge_chart
from app.domain.discharge import Discharge
from app.domain.errors import Problem, Refused
from app.domain.readings import Readings
from app.services import batteries, discharges, meters, staging
from app.services.staging import UPLOAD_LIMIT_MB, Imported, too_large
from app.web.discharge_form import (
    MORE_ROWS,
    MOST_EDITED_ROWS,
    DischargeFormPage,
    Given,
    Preview,
    discharge_values,
    meter_options,
    read_discharge,
    read_source,
    typed_rows,
)
from app.web.form import posted, texts, upload
from app.web.pages import now_of, page, see_other, store_of

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)
Posted = Annotated[FormData, Depends(posted)]


@dataclass(frozen=True)
class DischargePage:
    """What discharge.html needs."""

    report: DischargeReport
    discharge: Discharge
    figure: object


@dataclass(frozen=True)
class Step:
    """What the form came to: a test that can be stored, or the problems that stand against it."""

    values: Mapping[str, str]
    staged: str
    imported: Imported | None
    given: Given | None
    report: DischargeReport | None
    problems: tuple[Problem, ...]


@router.get("/discharges/{discharge_id}", name="discharge")
def show_discharge(request: Request, discharge_id: int) -> Response:
    view = discharges.show_discharge(store_of(request), discharge_id)
    context = DischargePage(view.report, view.discharge, discharge_chart(view.report))
    return page(request, "discharge.html", context)


@router.get("/batteries/{battery_id}/discharges/new", name="new_discharge")
def new_discharge(request: Request, battery_id: int) -> Response:
    return _form_page(request, battery_id, None, Step({}, "", None, None, None, ()))


@router.post("/batteries/{battery_id}/discharges", name="add_discharge")
def add_discharge(request: Request, battery_id: int, form: Posted) -> Response:
    store = store_of(request)
    step = _take(request, battery_id, form, None)
    if step.given is not None and step.values.get("action") == "store":
        try:
            test = discharges.add_discharge(
                store, battery_id, step.given.details, step.given.meter, now_of(request)
            )
        except Refused as refused:
            step = _with_problems(step, refused)
        else:
            staging.drop_staged(store, step.staged)
            return see_other(request, "discharge", discharge_id=test.id)
    return _form_page(request, battery_id, None, step)


@router.get("/discharges/{discharge_id}/edit", name="edit_discharge")
def edit_discharge(request: Request, discharge_id: int) -> Response:
    test = discharges.show_discharge(store_of(request), discharge_id).discharge
    values = discharge_values(test.details)
    return _form_page(request, test.battery_id, test, Step(values, "", None, None, None, ()))


@router.post("/discharges/{discharge_id}", name="change_discharge")
def change_discharge(request: Request, discharge_id: int, form: Posted) -> Response:
    store = store_of(request)
    test = discharges.show_discharge(store, discharge_id).discharge
    step = _take(request, test.battery_id, form, test)
    if step.given is not None and step.values.get("action") == "store":
        try:
            discharges.change_discharge(
                store, discharge_id, step.given.details, step.given.meter, now_of(request)
            )
        except Refused as refused:
            step = _with_problems(step, refused)
        else:
            staging.drop_staged(store, step.staged)
            return see_other(request, "discharge", discharge_id=discharge_id)
    return _form_page(request, test.battery_id, test, step)


def _take(request: Request, battery_id: int, form: FormData, test: Discharge | None) -> Step:
    """Read the whole form, keeping what was typed and collecting every problem."""
    store, values = store_of(request), texts(form)
    if values.get("action") == "more_rows":
        return Step(_with_more_rows(values), values.get("staged", ""), None, None, None, ())
    problems: list[Problem] = []
    staged, imported, readings = values.get("staged", ""), None, None
    if values.get("action") == "drop_file":
        staged = ""
    try:
        data = _posted_bytes(form, values)
        if data is not None:
            staged, imported = staging.stage(store, data)
            values = {name: text for name, text in values.items() if not name.startswith("use_")}
            values["pasted"] = ""
        kept = _kept(test)
        imported, readings = read_source(store, values, staged, kept)
    except Refused as refused:
        problems += refused.problems
    given, report = None, None
    try:
        stand_in = readings or Readings.of([0.0, 1.0], [1.0, 1.0])
        given = read_discharge(values, stand_in, imported)
        discharges.check_start(given.details, now_of(request))
        if readings is not None:
            report = discharges.try_discharge(store, battery_id, given.details, given.meter)
    except Refused as refused:
        problems += refused.problems
    ready = given if not problems else None
    return Step(values, staged, imported, ready, report, tuple(problems))


def _posted_bytes(form: FormData, values: dict[str, str]) -> bytes | None:
    """A new file or a new paste. The size is looked at before anything is read."""
    file = upload(form, "file")
    if file is not None:
        if (file.size or 0) > UPLOAD_LIMIT_MB * 1_000_000:
            raise too_large(file.size or 0)
        values["source"] = (file.filename or "file")[:200]
        return file.file.read()
    pasted = values.get("pasted", "")
    if pasted.strip():
        values["source"] = "pasted"
        return pasted.encode()
    return None


def _kept(test: Discharge | None) -> Readings | None:
    """The readings of a long log stay as they are while its conditions are edited."""
    if test is None or len(test.details.readings) <= MOST_EDITED_ROWS:
        return None
    return test.details.readings


def _with_more_rows(values: dict[str, str]) -> dict[str, str]:
    return values | {"rows": str(len(typed_rows(values)) + MORE_ROWS)}


def _with_problems(step: Step, refused: Refused) -> Step:
    return Step(step.values, step.staged, step.imported, None, step.report, refused.problems)


def _form_page(request: Request, battery_id: int, test: Discharge | None, step: Step) -> Response:
    store = store_of(request)
    preview = None
    if step.report is not None:
        said = () if step.imported is None else step.imported.assumptions
        preview = Preview(step.report, said)
    kept = _kept(test)
    context = DischargeFormPage(
        battery=batteries.get_battery(store, battery_id),
        discharge_id=None if test is None else test.id,
        kept_readings=None if kept is None else len(kept),
        values=step.values,
        rows=typed_rows(step.values),
        problems=step.problems,
        meter_options=meter_options(meters.list_meters(store)),
        staged=step.staged,
        imported=step.imported,
        preview=preview,
    )
    return page(request, "discharge_form.html", context, 422 if step.problems else 200)
