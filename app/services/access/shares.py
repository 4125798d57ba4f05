"""Use cases around read-only links."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison_report import Compared, compare_batteries
from app.analysis.reports.shared_report import (
    EVERYTHING,
    SharedComparison,
    SharedView,
    bare_report,
    shared_comparison,
    shared_report,
    shared_test,
)
from app.domain.entities.meter import MeterDetails
from app.domain.errors import InvalidInput, LinkClosed, NotFound, StorageError
from app.domain.i18n.message import say
from app.domain.local_clock import day_here
from app.domain.share import Share, SharePart
from app.services.entities.batteries import build_report
from app.services.entities.discharges import report_on
from app.services.record_state import RecordState, state_of
from app.services.reports.comparison import MAX_COMPARED, USUALLY_SHOWN
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, discharges, meters, shares

TOKEN_BYTES = 24
MAX_BESIDE = 9


@dataclass(frozen=True)
class ShareWish:
    """What a link is to show: parts of a battery, batteries beside it, or one of its tests."""

    shows: frozenset[SharePart] = EVERYTHING
    discharge_id: int | None = None
    beside: tuple[int, ...] = ()


EVERYTHING_OF_IT = ShareWish()


@dataclass(frozen=True)
class NamedShare:
    """A link and the name of its battery."""

    share: Share
    battery_name: str


def share_battery(
    store: Store,
    battery_id: int,
    label: str,
    expires_at: datetime | None,
    now: datetime,
    wish: ShareWish = EVERYTHING_OF_IT,
) -> Share:
    """Make an unguessable link (192 bits).

    Raises NotFound, and InvalidInput for a wish of nothing.
    """
    with write_transaction(store.engine) as session:
        _view(store, session, battery_id, wish, day_here(now))
        token = secrets.token_urlsafe(TOKEN_BYTES)
        beside = tuple(_others(battery_id, wish))
        return shares.add(
            session,
            battery_id,
            token,
            label,
            now,
            expires_at,
            wish.shows,
            wish.discharge_id,
            beside,
        )


def preview_share(store: Store, battery_id: int, wish: ShareWish, today: date) -> SharedView:
    """What a link would show, made as the link itself makes it.

    Raises NotFound and InvalidInput.
    """
    with read_session(store.engine) as session:
        return _view(store, session, battery_id, wish, today)


def get_share(store: Store, share_id: int) -> Share:
    """One link, open or not. Raises NotFound."""
    store_views(store)
    with read_session(store.engine) as session:
        return shares.get(session, share_id)


def any_open(store: Store, now: datetime) -> bool:
    """Whether any link opens; that of a battery in the bin does not."""
    with read_session(store.engine) as session:
        shown = shares.shown_batteries(session, now)
        return bool(shown) and bool(batteries.kept_of(session, sorted(shown)))


def open_shares(store: Store, now: datetime) -> tuple[NamedShare, ...]:
    """Every link that opens, the newest first; that of a battery in the bin does not."""
    with read_session(store.engine) as session:
        there = shares.open_ones(session, now)
        found = batteries.found(session, {one.battery_id for one in there})
        return tuple(
            NamedShare(store.views.counted_in(one), found[one.battery_id].details.name)
            for one in there
            if one.battery_id in found
        )


def revoke_all_shares(store: Store, now: datetime) -> None:
    """Close every open link for good, those of batteries in the bin too."""
    with write_transaction(store.engine) as session:
        for one in shares.open_ones(session, now):
            shares.revoke(session, one.id, now)


def revoke_share(store: Store, share_id: int, now: datetime) -> Share:
    """Close a link for good. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return shares.revoke(session, share_id, now)


@dataclass(frozen=True)
class OpenedShare:
    """What a link shows; state is what that hangs on."""

    view: SharedView
    state: RecordState


def open_share(store: Store, token: str, now: datetime) -> SharedView:
    """What the link shows. Raises LinkClosed for a wrong, ended or revoked one alike.

    So does one whose battery or test lies in the bin: that is not told apart either.
    """
    return opened_share(store, token, now).view


def opened_share(store: Store, token: str, now: datetime) -> OpenedShare:
    """The same with its state."""
    with read_session(store.engine) as session:
        share = shares.by_token(session, token)
        if share is None or not share.open_at(now):
            raise LinkClosed
        wish = ShareWish(share.shows, share.discharge_id, _kept(session, share.beside))
        today = day_here(now)
        state = state_of(session, share.battery_id, today).with_more(
            (wish, tuple(state_of(session, other, today) for other in wish.beside))
        )

        def made() -> SharedView:
            return _view(store, session, share.battery_id, wish, today)

        try:
            view = store.computed.get("view", ("share", share.battery_id, state), made)
        except (NotFound, InvalidInput):
            raise LinkClosed from None
        return OpenedShare(view, state)


def count_view(store: Store, token: str, now: datetime) -> None:
    """Note that a link was looked at. A data file that is busy does not keep anyone waiting."""
    if store.views.note(token, now):
        store_views(store)


def store_views(store: Store) -> None:
    """Store the looks that wait; where the data file is in trouble they wait on."""
    taken = store.views.take()
    if not taken:
        return
    try:
        with write_transaction(store.engine) as session:
            for token, (count, last) in taken.items():
                shares.count_views(session, token, count, last)
    except StorageError:
        store.views.give_back(taken)


def _kept(session: Session, beside: Sequence[int]) -> tuple[int, ...]:
    kept = batteries.kept_of(session, beside)
    return tuple(other for other in beside if other in kept)


def _view(
    store: Store, session: Session, battery_id: int, wish: ShareWish, today: date
) -> SharedView:
    battery = batteries.get(session, battery_id)
    own = build_report(store, session, battery, today)
    if wish.discharge_id is not None:
        test = discharges.get(session, wish.discharge_id)
        if test.battery_id != battery_id:
            words = say("Test {number} is not one of this battery.", number=wish.discharge_id)
            raise NotFound(words)
        shown = shared_test(report_on(store, session, test, battery))
        return SharedView(today, (bare_report(own),), shown)
    if not wish.shows:
        raise InvalidInput.because(say("what it shows"), "", say("at least one part"), "show_fade")
    others = _others(battery_id, wish)
    if len(others) > MAX_BESIDE:
        allowed = say("at most {most} others", most=MAX_BESIDE)
        raise InvalidInput.because(say("beside it"), len(others), allowed, "beside")
    beside = [batteries.get(session, other) for other in others]
    entered = [
        Compared(own, battery.details.test_interval_days),
        *(
            Compared(build_report(store, session, one, today), one.details.test_interval_days)
            for one in beside
        ),
    ]
    shown_reports = tuple(
        shared_report(one.report, wish.shows, _meters(session, one.report)) for one in entered
    )
    return SharedView(today, shown_reports, None, _comparison(entered, wish))


def _meters(session: Session, report: BatteryReport) -> tuple[MeterDetails, ...]:
    """The meters of a battery's tests with a result, in order of their first test."""
    used = dict.fromkeys(one.meter_id for one in report.points if one.meter_id is not None)
    return tuple(meters.get(session, number).details for number in used)


def _comparison(entered: Sequence[Compared], wish: ShareWish) -> SharedComparison | None:
    """Where the fade is shown, and there are not too many to be compared in pairs."""
    if SharePart.FADE not in wish.shows or not 1 < len(entered) <= MAX_COMPARED:
        return None
    return shared_comparison(compare_batteries(entered, USUALLY_SHOWN))


def _others(battery_id: int, wish: ShareWish) -> list[int]:
    """The batteries beside, each once and none of them the link's own."""
    return list(dict.fromkeys(other for other in wish.beside if other != battery_id))
