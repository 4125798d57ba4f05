"""What happened to a battery: the form on its page and the page of one event."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.entities.battery import Battery
from app.domain.entities.event import Event, EventKind
from app.domain.entity_kind import EntityKind
from app.domain.errors import FadelineError, FieldError, problems_of
from app.services.entities import events
from app.web.forms.described_form import read_fields, shown_fields
from app.web.forms.form_reader import SEEN, FormReader, Posted, asked_again, base_version, texts
from app.web.lazy_routes import LazyRouter
from app.web.pages.batteries import battery_page
from app.web.rendering.flash_message import edited
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of, today_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class EventPage:
    """What event.html needs."""

    event_id: int
    battery: Battery
    today: date
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    event_kinds: tuple[EventKind, ...] = tuple(EventKind)


@router.post("/batteries/{battery_id}/events", name="add_event")
def add_event(request: Request, battery_id: Id, form: Posted) -> Response:
    values = texts(form)
    try:
        on_date, kind, note = _read(values, today_of(request))
        events.add_event(store_of(request), battery_id, on_date, kind, note)
    except FadelineError as error:
        return battery_page(request, battery_id, values, problems_of(error))
    return see_other(request, "battery", battery_id=battery_id)


@router.get("/events/{event_id}/edit", name="edit_event")
def edit_event(request: Request, event_id: Id) -> Response:
    shown = events.show_event(store_of(request), event_id)
    values = {SEEN: str(shown.version), **shown_fields(shown.event)}
    return _page(request, event_id, values, ())


@router.post("/events/{event_id}", name="change_event")
def change_event(request: Request, event_id: Id, form: Posted) -> Response:
    values = texts(form)
    try:
        on_date, kind, note = _read(values, today_of(request))
        store, now = store_of(request), now_of(request)
        before = events.show_event(store, event_id).version
        seen = base_version(values)
        event = events.change_event(store, event_id, on_date, kind, note, now, seen)
    except FadelineError as error:
        return _page(request, event_id, asked_again(values, error), problems_of(error))
    changed = events.show_event(store, event_id).version > before
    done = edited(EntityKind.EVENT, event_id, before) if changed else ""
    return see_other(request, "battery", done=done, battery_id=event.battery_id)


def _read(values: Mapping[str, str], today: date) -> tuple[date, EventKind, str]:
    """Raises InvalidInput with every problem of the form."""
    form = FormReader(values)
    given = read_fields(form, Event, today)
    form.finish()
    return given["on_date"], given["kind"], given["note"]


def _page(
    request: Request, event_id: int, values: Mapping[str, str], problems: tuple[FieldError, ...]
) -> Response:
    view = events.show_event(store_of(request), event_id)
    context = EventPage(event_id, view.battery, today_of(request), values, problems)
    return page(request, "event.html", context, 422 if problems else 200)
