"""The list of batteries, and the first page, which leads straight on where there is only one."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated

from fastapi import Query, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.battery.answers import Answer
from app.analysis.battery.battery_report import BatteryReport
from app.analysis.projection.end_of_life import EndOfLife
from app.analysis.projection.projection import ProjectionOutcome
from app.charts.small.sparkline import SmallTrend, small_trend
from app.domain.entities.battery import Battery
from app.domain.i18n.message import say
from app.domain.limits import MAX_NAME_LENGTH
from app.services.backups import backups
from app.services.entities import batteries, bin, runs
from app.services.entities.battery_cards import Cards, ListQuery, list_shown
from app.services.entities.run_views import RunSummary
from app.web.lazy_routes import LazyRouter
from app.web.rendering.flash_message import notice_of
from app.web.rendering.rendering import (
    EXAMPLE,
    MAX_BATTERIES,
    now_of,
    page,
    see_other,
    settings_of,
    store_of,
    today_of,
)

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
Find = Annotated[str, Query(max_length=MAX_NAME_LENGTH)]
First = Annotated[int, Query(ge=0, le=MAX_BATTERIES)]


@dataclass(frozen=True)
class Card:
    """A battery in the list. holds is what it holds, course what it loses and when it is down to
    its threshold, both without a word where there is no test; trend is its small picture, None
    without a test.

    in_question are its tests with open questions, in the order of time. waits says that all this is
    being computed still.
    """

    id: int
    name: str
    holds: Answer
    course: tuple[Answer, ...]
    next_test: Answer
    trend: SmallTrend | None
    in_question: tuple[int, ...]
    # Its middle day of being down to the threshold; the first of all days where it is already.
    down_on: date | None = None
    waits: bool = False


class Order(StrEnum):
    """In which order the batteries stand; the name decides between equals."""

    NAME = "name"
    DUE = "due"
    LIMIT = "limit"

    @property
    def label(self) -> str:
        return {
            Order.NAME: say("by name"),
            Order.DUE: say("test due first"),
            Order.LIMIT: say("soonest down to your limit first"),
        }[self]


def _due_first(card: Card) -> float:
    return 2 if card.waits else 0 if card.next_test.now else 1


def _limit_first(card: Card) -> float:
    return math.inf if card.down_on is None else card.down_on.toordinal()


_RANKS: dict[Order, Callable[[Card], float] | None] = {
    Order.NAME: None,
    Order.DUE: _due_first,
    Order.LIMIT: _limit_first,
}


@dataclass(frozen=True)
class BatteriesPage:
    """What batteries.html needs. before and behind are where the neighbouring pages begin, None
    where there is none; testing are the batteries that are tested now."""

    listing: batteries.Listing[Card]
    order: Order
    orders: tuple[Order, ...]
    before: int | None
    behind: int | None
    running: tuple[RunSummary, ...]
    testing: frozenset[int]
    binned: int
    # How many pages of the list are being worked out, and of how many.
    filling: tuple[int, int]
    backup_note: str
    # Whether the example beside them is open, None where there is none: in itself.
    example_open: bool | None
    open_example: str


@router.get("/", name="batteries")
def show_start(
    request: Request, find: Find = "", first: First = 0, order: Order = Order.NAME
) -> Response:
    """The list; the battery itself where there is only one and nothing else to say."""
    context = _listed(request, find, first, order)
    only = context.listing.shown if context.listing.found == 1 else ()
    said = context.running or context.backup_note or context.example_open
    if only and not said and not request.query_params:
        return see_other(request, "battery", battery_id=only[0].id)
    return _page(request, context)


@router.get("/batteries", name="battery_list")
def show_list(
    request: Request, find: Find = "", first: First = 0, order: Order = Order.NAME
) -> Response:
    return _page(request, _listed(request, find, first, order))


def _page(request: Request, context: BatteriesPage) -> Response:
    return page(request, "batteries.html", context, notice=notice_of(request))


def _listed(request: Request, find: str, first: int, order: Order) -> BatteriesPage:
    store = store_of(request)
    listing = list_shown(
        store, today_of(request), ListQuery(find.strip(), first, _RANKS[order]), CARDS
    )
    # Where there is nothing yet, and in the demo, there is nothing to back up.
    quiet = settings_of(request).demo or not listing.found
    beside = getattr(request.app.state, "example", None)
    running = runs.show_running(store, now_of(request))
    return BatteriesPage(
        listing,
        order,
        tuple(Order),
        before=max(0, first - batteries.A_PAGE) if first else None,
        behind=listing.last if listing.last < listing.found else None,
        running=running,
        testing=frozenset(view.run.battery_id for view in running),
        binned=bin.count_binned(store),
        filling=store.filling,
        backup_note="" if quiet else backups.quiet_note(store.engine, now_of(request)),
        example_open=None if beside is None else beside.is_open,
        open_example=f"{EXAMPLE}/",
    )


def card_of(report: BatteryReport, in_question: tuple[int, ...]) -> Card:
    holds, *course, next_test = report.answers
    return Card(
        id=report.id,
        name=report.name,
        holds=holds,
        course=tuple(course) if report.tests else (),
        next_test=next_test,
        trend=small_trend(report),
        in_question=in_question,
        down_on=_down_on(report.end_of_life),
    )


def _down_on(end: EndOfLife) -> date | None:
    if end.waits:
        return None
    return date.min if end.outcome is ProjectionOutcome.ALREADY_BELOW else end.p50


def _waiting(battery: Battery) -> Card:
    nothing = Answer("", "", "")
    return Card(battery.id, battery.details.name, nothing, (), nothing, None, (), waits=True)


CARDS = Cards(Card, card_of, _waiting)
