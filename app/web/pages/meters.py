"""Pages of meters: what they may be wrong by."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.entities.meter import Meter, MeterDetails, MeterKind, typical
from app.domain.entity_kind import EntityKind
from app.domain.errors import FadelineError, FieldError, problems_of
from app.services.entities import meters
from app.web.forms.described_form import read_fields, shown_fields
from app.web.forms.form_reader import (
    SEEN,
    FormReader,
    Posted,
    asked_again,
    base_version,
    texts,
)
from app.web.lazy_routes import LazyRouter
from app.web.rendering.flash_message import edited, notice_of
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class MetersPage:
    """What meters.html needs: all meters, and the form of one (meter_id is None for a new one)."""

    meters: tuple[Meter, ...]
    typical_meters: tuple[MeterDetails, ...]
    meter_id: int | None
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    kinds: tuple[MeterKind, ...] = tuple(MeterKind)


@router.get("/meters", name="meters")
def show_meters(request: Request) -> Response:
    return _page(request, None, {"kind": MeterKind.SHUNT.value}, ())


@router.post("/meters", name="add_meter")
def add_meter(request: Request, form: Posted) -> Response:
    values = texts(form)
    try:
        meters.add_meter(store_of(request), _read(values))
    except FadelineError as error:
        return _page(request, None, values, problems_of(error))
    return see_other(request, "meters")


@router.get("/meters/{meter_id}", name="edit_meter")
def edit_meter(request: Request, meter_id: Id) -> Response:
    meter = meters.get_meter(store_of(request), meter_id)
    values = {SEEN: str(meter.version), **shown_fields(meter.details)}
    return _page(request, meter_id, values, ())


@router.post("/meters/{meter_id}", name="change_meter")
def change_meter(request: Request, meter_id: Id, form: Posted) -> Response:
    values = texts(form)
    try:
        before = meters.get_meter(store_of(request), meter_id).version
        details = _read(values)
        changed = meters.change_meter(
            store_of(request), meter_id, details, now_of(request), base_version(values)
        )
    except FadelineError as error:
        return _page(request, meter_id, asked_again(values, error), problems_of(error))
    done = edited(EntityKind.METER, meter_id, before, changed.version)
    return see_other(request, "meters", done=done)


def _read(values: Mapping[str, str]) -> MeterDetails:
    form = FormReader(values)
    details = MeterDetails(**read_fields(form, MeterDetails))
    form.finish()
    return details


def _page(
    request: Request,
    meter_id: int | None,
    values: Mapping[str, str],
    problems: tuple[FieldError, ...],
) -> Response:
    context = MetersPage(
        meters=tuple(meters.list_meters(store_of(request))),
        typical_meters=tuple(typical(kind) for kind in MeterKind),
        meter_id=meter_id,
        values=values,
        problems=problems,
    )
    return page(request, "meters.html", context, 422 if problems else 200, notice_of(request))
