"""What the list shows of a battery is kept as long as nothing of it changes, and no longer."""

import threading
import time
from dataclasses import replace
from datetime import timedelta

import pytest

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.nights.nights_report import RoadWish
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails, Season
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with
from app.services.access import shares
from app.services.entities import batteries, battery_cards, discharges, events, meters, places
from app.services.entities.battery_cards import ListQuery
from app.services.reports import heat, nights_report
from app.services.store import Store
from tests.builders import NOW, battery_details, discharge_details, steady

TODAY = NOW.date()
LOCKER = PlaceDetails("locker", "", (Season(1, 12, 30.0, 40.0),))


@pytest.fixture
def battery(store):
    made = batteries.add_battery(store, battery_details())
    discharges.add_discharge(store, made.id, discharge_details(steady()), MeterKind.SHUNT, NOW)
    return made


def shown(store, today=TODAY):
    """What is shown, and how often it had to be made."""
    (one,) = battery_cards.list_shown(store, today, ListQuery(), CARDS).shown
    return one, MADE.count


class Made:
    count = 0

    def show(self, report, _in_question):
        self.count += 1
        return report


MADE = Made()
CARDS = battery_cards.Cards(BatteryReport, MADE.show)


def test_it_is_made_once(store, battery):
    first, count = shown(store)
    assert shown(store) == (first, count)
    assert first == batteries.list_batteries(store, TODAY).shown[0]


CHANGES = pytest.mark.parametrize(
    "change",
    [
        lambda store, one: batteries.change_battery(
            store, one.id, replace(one.details, rated_ah=99.0), NOW
        ),
        lambda store, _: discharges.leave_out(store, 1, "the fridge ran too", NOW),
        lambda store, _: discharges.bin_discharge(store, 1, NOW),
        lambda store, one: events.add_event(store, one.id, TODAY, EventKind.REPAIR, ""),
        lambda store, one: places.move_battery(
            store, one.id, places.add_place(store, LOCKER).id, TODAY
        ),
        lambda store, _: meters.change_meter(
            store, 1, replace(meters.get_meter(store, 1).details, gain_limit_percent=3.0), NOW
        ),
    ],
    ids=["battery", "test left out", "test in the bin", "event", "place", "meter"],
)


@CHANGES
def test_every_change_is_shown_at_once(store, battery, change):
    before, _ = shown(store)
    change(store, battery)
    after, _ = shown(store)
    assert after != before
    assert after == batteries.list_batteries(store, TODAY).shown[0]


def on_pages(store, battery_id, token):
    """All that pages show of a battery, as it is kept in the memory of this store."""
    shown = batteries.show_battery(store, battery_id, TODAY)
    return (
        (shown.report, shown.in_question),
        heat.show_heat(store, battery_id, TODAY).report,
        nights_report.show_road(store, battery_id, RoadWish(), None, TODAY).report,
        batteries.view_curves(store, battery_id, TODAY),
        discharges.show_discharge(store, 2).report,
        shares.open_share(store, token, NOW),
    )


@CHANGES
def test_nothing_on_the_pages_of_a_battery_is_out_of_date(store, battery, change):
    later = discharge_details(steady(), started_at=NOW - timedelta(days=9))
    discharges.add_discharge(store, battery.id, later, MeterKind.SHUNT, NOW)
    token = shares.share_battery(store, battery.id, "", None, NOW).token
    before = on_pages(store, battery.id, token)
    change(store, battery)
    after = on_pages(store, battery.id, token)
    assert after != before
    # Who remembers nothing sees the same.
    assert after == on_pages(Store(store.engine, store.staging), battery.id, token)


def test_another_battery_does_not_touch_it(store, battery):
    _, count = shown(store)
    batteries.add_battery(store, battery_details(name="Another"))
    battery_cards.list_shown(store, TODAY, ListQuery(), CARDS)
    assert MADE.count == count + 1


def test_another_day_is_made_anew_and_another_language_is_not(store, battery):
    _, count = shown(store)
    shown(store, TODAY.replace(day=1))
    again, _ = shown(store)
    assert MADE.count == count + 1
    german = reader_with(Preferences(language=Language.GERMAN))
    assert german.read(again.fade.words).startswith("Ein gemessener Test")


def test_who_waits_for_a_new_page_holds_no_connection(store, battery):
    """More would wait than there are connections, and the rest would be turned away."""
    waiting = [threading.Thread(target=shown, args=(store, TODAY)) for _ in range(20)]
    with store.listing:
        for one in waiting:
            one.start()
        for _ in range(200):
            time.sleep(0.02)
            if store.engine.pool.checkedout() == 0:
                break
        assert store.engine.pool.checkedout() == 0
        assert all(one.is_alive() for one in waiting)
    for one in waiting:
        one.join(30)
    assert not any(one.is_alive() for one in waiting)


def test_a_ranked_list_is_ordered_across_its_pages(store):
    """Of equal ranks the name decides; each battery stands on one page."""
    capacities = {f"Battery {number:02d}": 100.0 + number % 3 for number in range(45)}
    for name, rated_ah in capacities.items():
        batteries.add_battery(store, battery_details(name=name, rated_ah=rated_ah))
    cards = battery_cards.Cards(BatteryReport, lambda report, _: report)
    pages = [
        battery_cards.list_shown(
            store, TODAY, ListQuery("", first, lambda one: -one.rated_ah), cards
        )
        for first in (0, 40)
    ]
    assert [len(one.shown) for one in pages] == [40, 5]
    assert {one.found for one in pages} == {45}
    names = [one.name for page in pages for one in page.shown]
    assert names == sorted(capacities, key=lambda name: (-capacities[name], name))
