"""Pages of places: the list, one place, its form, and which battery lives there."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.entity_kind import EntityKind
from app.domain.errors import FadelineError, FieldError, problems_of
from app.domain.i18n.message import month_names
from app.services.entities import places
from app.services.entities.places import PlaceView
from app.web.forms.battery_form import wants_rows
from app.web.forms.form_reader import SEEN, Posted, asked_again, base_version, texts
from app.web.forms.place_form import (
    HOUR_ROWS,
    SEASON_ROWS,
    place_values,
    read_place,
    sent_values,
    shown_seasons,
)
from app.web.forms.typed_units import UNITS
from app.web.lazy_routes import LazyRouter
from app.web.rendering.flash_message import edited, notice_of
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


def _numbered_months() -> tuple[tuple[str, str], ...]:
    numbered = enumerate(month_names(short=True), start=1)
    return tuple((str(number), name) for number, name in numbered)


@dataclass(frozen=True)
class PlacesPage:
    """What places.html needs."""

    places: tuple[PlaceView, ...]


@dataclass(frozen=True)
class PlaceFormPage:
    """What place_form.html needs. place_id is None for a new one."""

    place_id: int | None
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    season_rows: int
    more_seasons: bool
    hour_rows: int = HOUR_ROWS
    months: tuple[tuple[str, str], ...] = field(default_factory=_numbered_months)
    units: tuple[tuple[str, str], ...] = UNITS


@dataclass(frozen=True)
class PlacePage:
    """What place.html needs."""

    view: PlaceView
    problems: tuple[FieldError, ...]
    missing_months: tuple[str, ...]
    month_names: tuple[str, ...]


@router.get("/places", name="places")
def show_places(request: Request) -> Response:
    context = PlacesPage(tuple(places.list_places(store_of(request))))
    return page(request, "places.html", context, 200, notice_of(request))


@router.get("/places/new", name="new_place")
def new_place(request: Request) -> Response:
    return _form(request, None, {})


def _form(
    request: Request,
    place_id: int | None,
    values: Mapping[str, str],
    problems: tuple[FieldError, ...] = (),
) -> Response:
    rows = SEASON_ROWS if wants_rows(values) else shown_seasons(values)
    context = PlaceFormPage(place_id, values, problems, rows, rows < SEASON_ROWS)
    return page(request, "place_form.html", context, 422 if problems else 200)


@router.post("/places", name="add_place")
def add_place(request: Request, form: Posted) -> Response:
    values = sent_values(texts(form))
    if wants_rows(values):
        return _form(request, None, values)
    try:
        added = places.add_place(store_of(request), read_place(values))
    except FadelineError as error:
        return _form(request, None, values, problems_of(error))
    return see_other(request, "place", place_id=added.id)


@router.get("/places/{place_id}", name="place")
def show_place(request: Request, place_id: Id) -> Response:
    return place_page(request, place_id, ())


def place_page(request: Request, place_id: int, problems: tuple[FieldError, ...]) -> Response:
    view = places.show_place(store_of(request), place_id)
    told = {month for one in view.place.details.seasons for month in one.months}
    names = month_names()
    missing = tuple(n for i, n in enumerate(names, start=1) if told and i not in told)
    status = 422 if problems else 200
    context = PlacePage(view, problems, missing, names)
    return page(request, "place.html", context, status, notice_of(request))


@router.get("/places/{place_id}/edit", name="edit_place")
def edit_place(request: Request, place_id: Id) -> Response:
    place = places.show_place(store_of(request), place_id).place
    values = place_values(place.details) | {SEEN: str(place.version)}
    return _form(request, place_id, values)


@router.post("/places/{place_id}", name="change_place")
def change_place(request: Request, place_id: Id, form: Posted) -> Response:
    values = sent_values(texts(form))
    if wants_rows(values):
        return _form(request, place_id, values)
    try:
        before = places.show_place(store_of(request), place_id).place.version
        changed = places.change_place(
            store_of(request), place_id, read_place(values), now_of(request), base_version(values)
        )
    except FadelineError as error:
        return _form(request, place_id, asked_again(values, error), problems_of(error))
    done = edited(EntityKind.PLACE, place_id, before, changed.version)
    return see_other(request, "place", done=done, place_id=place_id)
