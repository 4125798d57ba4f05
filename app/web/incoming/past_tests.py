"""The page that brings in a table of past tests, one row a test, and takes it back."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from io import BytesIO
from typing import BinaryIO

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.domain.entities.battery import Battery
from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.domain.past_tests.columns import PastColumn
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.domain.units.column import DayOrder
from app.services.entities import batteries, imports, meters
from app.services.entities.discharges import Original
from app.services.exchange import past_tests_import, upload_staging
from app.services.exchange.past_tests_import import LookedAt
from app.web.forms.discharge_form import PASTED, meter_options
from app.web.forms.form_reader import Posted, texts, upload
from app.web.forms.past_tests_form import (
    answers_given,
    joined_uses,
    read_answers,
    read_for_all,
    without_answers,
)
from app.web.forms.test_choices import Choice, charge_choices, end_choices
from app.web.lazy_routes import LazyRouter
from app.web.pages.long_tables import holds_a_long_table
from app.web.rendering.flash_message import came_in, stored_before, taken_back
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of
from app.web.security.heavy_work import heavy

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class PastTestsPage:
    """What past_tests.html needs.

    looked is None while there is no table yet; kept are answers that no field of the page shows.
    """

    battery: Battery
    looked: LookedAt | None
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    meter_options: tuple[tuple[str, str], ...]
    kept: Mapping[str, str]
    found_uses: str
    pasted: bool
    column_uses: tuple[PastColumn, ...] = tuple(PastColumn)
    charge_choices: tuple[Choice, ...] = field(default_factory=charge_choices)
    end_choices: tuple[Choice, ...] = field(default_factory=end_choices)
    day_orders: tuple[DayOrder, ...] = tuple(DayOrder)
    upload_limit_mb: int = UPLOAD_LIMIT_MB


@dataclass
class _Step:
    """One press of a button: what was typed, what the table says, and what stands against it."""

    values: dict[str, str]
    looked: LookedAt | None = None
    problems: list[FieldError] = field(default_factory=list)


@router.get("/batteries/{battery_id}/past-tests", name="past_tests")
def show_past_tests(request: Request, battery_id: Id) -> Response:
    return _page(request, battery_id, _Step({}))


@router.post("/batteries/{battery_id}/past-tests", name="add_past_tests")
@heavy(holds_a_long_table)
def add_past_tests(request: Request, battery_id: Id, form: Posted) -> Response:
    """Take a table, show the tests it holds, and store them all on the owner's word."""
    step = _take_step(request, battery_id, form)
    if step.looked is not None and not step.problems and step.values.get("action") == "store":
        try:
            return _stored(request, battery_id, step, step.looked)
        except FadelineError as error:
            step.problems += problems_of(error)
    return stored_before(request, battery_id, texts(form)) or _page(request, battery_id, step)


@router.post("/batteries/{battery_id}/imports/{import_uid}/take-back", name="take_back_import")
def take_back_import(request: Request, battery_id: Id, import_uid: str) -> Response:
    """Move everything that came in together to the bin."""
    gone = imports.take_back_import(store_of(request), battery_id, import_uid, now_of(request))
    done = taken_back(battery_id, gone[0].details.import_uid)
    return see_other(request, "battery", done=done, battery_id=battery_id)


def _take_step(request: Request, battery_id: int, form: FormData) -> _Step:
    """Read the whole form; nothing typed is lost, whatever goes wrong."""
    step = _Step(texts(form))
    store, action = store_of(request), step.values.get("action")
    batteries.get_battery(store, battery_id)
    if action == "drop_file":
        step.values = _without_table(request, step.values)
        return step
    try:
        _keep_new(request, form, step)
        if not step.values.get("staged"):
            raise InvalidInput.saying(say("Paste a table or choose a file."), "pasted")
        if step.values.get("sheet", "") not in ("", step.values.get("shown_sheet", "")):
            step.values = without_answers(step.values)
        if action == "anew":
            step.values = without_answers(step.values)
        answers, wrong = read_answers(step.values)
        step.looked = past_tests_import.look_at(
            store,
            battery_id,
            upload_staging.staged_bytes(store, step.values["staged"]),
            answers,
            read_for_all(step.values),
            step.values.get("sheet") or None,
            say(PASTED) if step.values["source"] == PASTED else step.values["source"],
            now_of(request),
        )
        step.problems += (*wrong, *step.looked.problems)
        if action == "answer":
            # What a page did not ask yet is missing in no answer.
            asked = step.values.get("asked", "").split(",")
            missing = past_tests_import.missing_answers(step.looked)
            step.problems += (one for one in missing if one.field in asked)
    except FadelineError as error:
        pasted = step.looked is None and step.values.get("source") == PASTED
        step.problems += (
            replace(one, field="pasted") if pasted and one.field == "file" else one
            for one in problems_of(error)
        )
        if step.looked is None:
            step.values = _without_table(request, step.values)
    return step


def _keep_new(request: Request, form: FormData, step: _Step) -> None:
    """A new file or a new paste waits for its preview to be answered."""
    given, source = _posted(form, step.values)
    if given is not None:
        name = upload_staging.keep_waiting(store_of(request), given.read())
        step.values = without_answers(step.values) | {"staged": name, "source": source}
        step.values.pop("sheet", None)
    step.values.setdefault("source", "")


def _posted(form: FormData, values: Mapping[str, str]) -> tuple[BinaryIO | None, str]:
    file = upload(form, "file")
    if file is not None:
        upload_staging.check_size(file.size or 0)
        return file.file, (file.filename or "file")[:200]
    pasted = values.get("pasted", "")
    return (BytesIO(pasted.encode()), PASTED) if pasted.strip() else (None, "")


def _without_table(request: Request, values: Mapping[str, str]) -> dict[str, str]:
    """Back to the empty page; what was pasted stands in its field again."""
    kept = without_answers(values)
    staged, source = kept.pop("staged", ""), kept.pop("source", "")
    kept.pop("sheet", None)
    if source == PASTED and staged:
        try:
            kept["pasted"] = upload_staging.staged_text(store_of(request), staged)
        except InvalidInput:
            # Its day is over: there is nothing to bring back.
            kept.setdefault("pasted", "")
    return kept


def _stored(request: Request, battery_id: int, step: _Step, looked: LookedAt) -> Response:
    store, values = store_of(request), step.values
    name = values["staged"]
    import_uid = upload_staging.import_uid_of(name)
    data = upload_staging.staged_bytes(store, name)
    original = Original(values["source"] or PASTED, data, (), ())
    stored = past_tests_import.store_all(
        store, battery_id, looked, values, now_of(request), original, import_uid
    )
    upload_staging.drop_staged(store, name)
    done = came_in(battery_id, stored[0].details.import_uid)
    return see_other(request, "battery", done=done, battery_id=battery_id)


def _page(request: Request, battery_id: int, step: _Step) -> Response:
    store, looked = store_of(request), step.looked
    asked = {one.name for one in looked.questions} if looked else set()
    given = answers_given(step.values) if looked else {}
    found = joined_uses(looked.read.uses) if looked else ""
    if looked and step.values.get("guessed") and read_answers(step.values)[0].uses is not None:
        # What its owner has changed stays changed.
        found = step.values["guessed"]
    context = PastTestsPage(
        battery=batteries.get_battery(store, battery_id),
        looked=looked,
        values=step.values,
        problems=tuple(step.problems),
        meter_options=meter_options(meters.list_meters(store)),
        kept={n: text for n, text in given.items() if n not in asked and n != "day_order"},
        found_uses=found,
        pasted=step.values.get("source") == PASTED,
    )
    status = 422 if step.problems else 200
    return page(request, "past_tests.html", context, status)
