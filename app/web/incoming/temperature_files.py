"""The step from a logger's file to the hours of a place."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.domain.entities.place import Place
from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.domain.temperature_file import (
    LogAnswers,
    Overlap,
    TemperatureColumns,
    TemperatureUnit,
)
from app.domain.units.column import DayOrder
from app.services.entities import places
from app.services.exchange import temperature_import, upload_staging
from app.services.exchange.temperature_import import StagedTemperatures
from app.web.forms.form_reader import FormReader, Posted, texts, upload
from app.web.lazy_routes import LazyRouter
from app.web.pages.long_tables import holds_a_long_table
from app.web.pages.places import place_page
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of
from app.web.security.heavy_work import heavy

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class TemperatureFilePage:
    """What temperature_file.html needs."""

    place: Place
    staged: StagedTemperatures
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    units: tuple[TemperatureUnit, ...] = tuple(TemperatureUnit)
    day_orders: tuple[DayOrder, ...] = tuple(DayOrder)
    overlaps: tuple[Overlap, ...] = tuple(Overlap)


@router.post("/places/{place_id}/temperatures", name="add_temperatures")
@heavy(holds_a_long_table)
def add_temperatures(request: Request, place_id: Id, form: Posted) -> Response:
    """Take a file, show what it says, and store it when nothing is open and the owner says so."""
    values = texts(form)
    store = store_of(request)
    place = places.show_place(store, place_id).place
    try:
        values |= _kept(request, form, values)
        overlap = FormReader(values).answer("overlap", Overlap)
        staged = temperature_import.look_at(
            store, place_id, values["staged"], _columns(values), _answers(values), overlap
        )
    except FadelineError as error:
        return place_page(request, place_id, problems_of(error))
    problems = staged.problems
    if values.get("action") == "store" and not problems:
        try:
            source = values.get("source", "")[:200] or "file"
            temperature_import.store_staged(
                store, place_id, staged, source, overlap, now_of(request)
            )
            return see_other(request, "place", place_id=place_id)
        except InvalidInput as refused:
            problems = refused.problems
    context = TemperatureFilePage(place, staged, values, problems)
    return page(request, "temperature_file.html", context, 422 if problems else 200)


def _kept(request: Request, form: FormData, values: Mapping[str, str]) -> dict[str, str]:
    """A new file, or the one that waits."""
    file = upload(form, "file")
    if file is None:
        if not values.get("staged"):
            raise InvalidInput.saying(say("Choose the file of a logger with temperatures."), "file")
        return {}
    upload_staging.check_size(file.size or 0)
    name = temperature_import.stage(store_of(request), file.file.read())
    return {"staged": name, "source": (file.filename or "file")[:200]}


def _columns(values: Mapping[str, str]) -> TemperatureColumns:
    form = FormReader(values)
    column = form.raw("column")
    return TemperatureColumns(
        int(column) if column.isascii() and column.isdigit() and len(column) < 4 else None,
        form.answer("unit", TemperatureUnit),
        form.answer("day_order", DayOrder),
        form.raw("sheet") or None,
    )


def _answers(values: Mapping[str, str]) -> LogAnswers:
    return LogAnswers(
        bool(values.get("leave_out_impossible")),
        bool(values.get("leave_out_stuck")),
        bool(values.get("hot_is_real")),
    )
