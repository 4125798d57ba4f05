"""Pages of batteries: the list, one battery, its form, its events and the bin."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.analysis.battery_report import BatteryReport
from app.charts.fade_chart import fade_chart
from app.domain.battery import Battery
from app.domain.errors import NotFound, Refused
from app.domain.event import EventKind
from app.domain.share import Share
from app.services import batteries, bin, discharges, events
from app.web import battery_form
from app.web.battery_form import BatteryFormPage, battery_values, read_battery
from app.web.form import FormReader, posted, texts
from app.web.pages import now_of, page, see_other, settings_of, store_of, today_of

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)
Posted = Annotated[FormData, Depends(posted)]


@dataclass(frozen=True)
class BatteriesPage:
    """What batteries.html needs."""

    reports: tuple[BatteryReport, ...]
    binned: int


@dataclass(frozen=True)
class BatteryPage:
    """What battery.html needs. figure is JSON, None where there is nothing to draw."""

    battery: Battery
    report: BatteryReport
    figure: object | None
    shares: tuple[Share, ...]
    share_urls: tuple[str, ...]
    now: datetime
    listens_alone: bool
    event_kinds: tuple[EventKind, ...] = tuple(EventKind)


@dataclass(frozen=True)
class BinPage:
    """What bin.html needs."""

    items: tuple[bin.BinnedItem, ...]


def figure_of(report: BatteryReport) -> object | None:
    """The fade chart as plain data."""
    if not report.tests:
        return None
    marked = [(event.on_date, event.kind.label) for event in report.events]
    return fade_chart(report.tests, report.fade, report.end_of_life, report.rated_ah, marked)


@router.get("/", name="batteries")
def show_batteries(request: Request) -> Response:
    store = store_of(request)
    reports = batteries.list_batteries(store, today_of(request))
    context = BatteriesPage(reports, len(bin.list_bin(store)))
    return page(request, "batteries.html", context)


@router.get("/batteries/new", name="new_battery")
def new_battery(request: Request) -> Response:
    return page(request, "battery_form.html", BatteryFormPage(None, battery_form.DEFAULTS, ()))


@router.post("/batteries", name="add_battery")
def add_battery(request: Request, form: Posted) -> Response:
    values = texts(form)
    try:
        details = read_battery(values, today_of(request))
    except Refused as refused:
        context = BatteryFormPage(None, values, refused.problems)
        return page(request, "battery_form.html", context, 422)
    added = batteries.add_battery(store_of(request), details)
    return see_other(request, "battery", battery_id=added.id)


@router.get("/batteries/{battery_id}", name="battery")
def show_battery(request: Request, battery_id: int) -> Response:
    view = batteries.show_battery(store_of(request), battery_id, today_of(request))
    urls = tuple(str(request.url_for("shared", token=share.token)) for share in view.shares)
    context = BatteryPage(
        battery=view.battery,
        report=view.report,
        figure=figure_of(view.report),
        shares=view.shares,
        share_urls=urls,
        now=now_of(request),
        listens_alone=settings_of(request).host in ("127.0.0.1", "localhost", "::1"),
    )
    return page(request, "battery.html", context)


@router.get("/batteries/{battery_id}/edit", name="edit_battery")
def edit_battery(request: Request, battery_id: int) -> Response:
    battery = batteries.get_battery(store_of(request), battery_id)
    context = BatteryFormPage(battery_id, battery_values(battery.details), ())
    return page(request, "battery_form.html", context)


@router.post("/batteries/{battery_id}", name="change_battery")
def change_battery(request: Request, battery_id: int, form: Posted) -> Response:
    values = texts(form)
    try:
        details = read_battery(values, today_of(request))
    except Refused as refused:
        context = BatteryFormPage(battery_id, values, refused.problems)
        return page(request, "battery_form.html", context, 422)
    batteries.change_battery(store_of(request), battery_id, details, now_of(request))
    return see_other(request, "battery", battery_id=battery_id)


@router.post("/batteries/{battery_id}/events", name="add_event")
def add_event(request: Request, battery_id: int, form: Posted) -> Response:
    reader = FormReader(texts(form))
    on_date = reader.day("on_date", "date of the event", today_of(request))
    kind = reader.choice("kind", "kind of event", EventKind)
    note = reader.text("note", "note", 400)
    reader.finish()
    events.add_event(store_of(request), battery_id, on_date, kind, note)
    return see_other(request, "battery", battery_id=battery_id)


@router.get("/bin", name="bin")
def show_bin(request: Request) -> Response:
    return page(request, "bin.html", BinPage(tuple(bin.list_bin(store_of(request)))))


@router.post("/bin/{kind}/{item_id}", name="put_in_bin")
def put_in_bin(request: Request, kind: str, item_id: int) -> Response:
    store, now = store_of(request), now_of(request)
    if kind == "battery":
        batteries.bin_battery(store, item_id, now)
        return see_other(request, "bin")
    if kind == "discharge":
        battery_id = discharges.bin_discharge(store, item_id, now).battery_id
        return see_other(request, "battery", battery_id=battery_id)
    if kind == "event":
        battery_id = events.bin_event(store, item_id, now).battery_id
        return see_other(request, "battery", battery_id=battery_id)
    raise NotFound(f"Nothing called “{kind}” can be put in the bin.")


@router.post("/bin/{kind}/{item_id}/restore", name="restore")
def restore(request: Request, kind: str, item_id: int) -> Response:
    store = store_of(request)
    if kind == "battery":
        restored = batteries.restore_battery(store, item_id).id
    elif kind == "discharge":
        restored = discharges.restore_discharge(store, item_id).battery_id
    elif kind == "event":
        restored = events.restore_event(store, item_id).battery_id
    else:
        raise NotFound(f"Nothing called “{kind}” lies in the bin.")
    return see_other(request, "battery", battery_id=restored)
