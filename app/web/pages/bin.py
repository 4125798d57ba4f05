"""What was put in the bin, and the way there and back for every kind of thing."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import NotFound
from app.domain.i18n.message import say
from app.services.entities import batteries, bin, discharges, events, photos, places
from app.services.store import Store
from app.web.lazy_routes import LazyRouter
from app.web.rendering.flash_message import Home, binned
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class BinPage:
    """What bin.html needs."""

    items: tuple[bin.BinnedItem, ...]


@dataclass(frozen=True)
class Way:
    """How a kind of thing goes to the bin and back; each returns the page where it stands."""

    there: Callable[[Store, int, datetime], Home]
    back: Callable[[Store, int], Home]


def _of_battery(battery_id: int) -> Home:
    return Home("battery", {"battery_id": battery_id})


def _of_test(discharge_id: int) -> Home:
    return Home("discharge", {"discharge_id": discharge_id})


def _of_place(place_id: int) -> Home:
    return Home("place", {"place_id": place_id})


def _of_heat(battery_id: int) -> Home:
    return Home("heat", {"battery_id": battery_id})


def _battery_there(store: Store, number: int, now: datetime) -> Home:
    batteries.bin_battery(store, number, now)
    return Home("batteries", {})


def _place_there(store: Store, number: int, now: datetime) -> Home:
    places.bin_place(store, number, now)
    return Home("places", {})


WAYS = {
    "battery": Way(
        _battery_there, lambda store, n: _of_battery(batteries.restore_battery(store, n).id)
    ),
    "discharge": Way(
        lambda store, n, now: _of_battery(discharges.bin_discharge(store, n, now).battery_id),
        lambda store, n: _of_test(discharges.restore_discharge(store, n).id),
    ),
    "event": Way(
        lambda store, n, now: _of_battery(events.bin_event(store, n, now).battery_id),
        lambda store, n: _of_battery(events.restore_event(store, n).battery_id),
    ),
    "photo": Way(
        lambda store, n, now: _of_test(photos.bin_photo(store, n, now).discharge_id),
        lambda store, n: _of_test(photos.restore_photo(store, n).discharge_id),
    ),
    "place": Way(_place_there, lambda store, n: _of_place(places.restore_place(store, n).id)),
    "stay": Way(
        lambda store, n, now: _of_heat(places.take_stay_back(store, n, now).battery_id),
        lambda store, n: _of_heat(places.restore_stay(store, n).battery_id),
    ),
    "temperature_log": Way(
        lambda store, n, now: _of_place(places.bin_log(store, n, now)),
        lambda store, n: _of_place(places.restore_log(store, n)),
    ),
}


@router.get("/bin", name="bin")
def show_bin(request: Request) -> Response:
    return page(request, "bin.html", BinPage(tuple(bin.list_bin(store_of(request)))))


@router.post("/bin/{kind}/{item_id}", name="put_in_bin")
def put_in_bin(request: Request, kind: str, item_id: Id) -> Response:
    """Put a thing in the bin; the page where it would stand says so and can undo it."""
    home = _way(kind).there(store_of(request), item_id, now_of(request))
    return see_other(request, home.name, done=binned(kind, item_id), **home.path)


@router.post("/bin/{kind}/{item_id}/restore", name="restore")
def restore(request: Request, kind: str, item_id: Id) -> Response:
    """Take a thing out of the bin and go to the page on which it stands again."""
    home = _way(kind).back(store_of(request), item_id)
    return see_other(request, home.name, done="", **home.path)


def _way(kind: str) -> Way:
    if kind not in WAYS:
        raise NotFound(say("Nothing called “{kind}” can be put in the bin.", kind=kind))
    return WAYS[kind]
