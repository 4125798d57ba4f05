"""What was computed outlives a start, is no record, and is never an answer to anything else."""

import json
import sqlite3
import time
import zlib
from dataclasses import replace
from functools import partial

import pytest
from sqlalchemy import select, update

from app.analysis.evidence import result
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails, Season
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with
from app.server.list_filler import ListFiller
from app.services.access import shares
from app.services.entities import (
    batteries,
    battery_cards,
    discharges,
    events,
    list_filling,
    meters,
    places,
    purge,
)
from app.services.entities.battery_cards import Cards, ListQuery, list_shown
from app.services.entities.list_filling import fill_list
from app.services.example.demo import fill_with_demo
from app.services.store import Store
from app.storage.database.engine import data_file, write_transaction
from app.storage.schema.computed_table import COMPUTED
from app.storage.schema.packing import pack_readings
from app.storage.schema.tables import metadata
from app.web.pages.battery_list import CARDS, Card, card_of
from tests.archives import empty_store, exported
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.pictures import photo_row

TODAY = NOW.date()
LOCKER = PlaceDetails("locker", "", (Season(1, 12, 30.0, 40.0),))
german = reader_with(Preferences(language=Language.GERMAN)).read


class Counted:
    """Makes cards, and knows how many."""

    def __init__(self):
        self.made = []

    def show(self, report, in_question):
        self.made.append(report.id)
        return card_of(report, in_question)


def again(store):
    """The same records after a start of the program: nothing is in memory."""
    return Store(store.engine, store.staging)


def listed(store, today=TODAY):
    """The cards of the list, and the batteries whose card had to be computed."""
    counted = Counted()
    found = list_shown(store, today, ListQuery(), Cards(Card, counted.show)).shown
    return found, counted.made


def rows(store):
    with store.engine.execution_options(readonly=True).connect() as connection:
        return connection.execute(select(COMPUTED).order_by(COMPUTED.c.battery_id)).all()


@pytest.fixture
def tested(store):
    """Two batteries, one of them at a place with an event and three tests."""
    first = batteries.add_battery(store, battery_details())
    for days_ago in (700, 400, 9):
        details = discharge_details(steady(hours=10.0), days_ago=days_ago)
        discharges.add_discharge(store, first.id, details, MeterKind.SHUNT, NOW)
    events.add_event(store, first.id, TODAY, EventKind.REPAIR, "new lug")
    places.move_battery(store, first.id, places.add_place(store, LOCKER).id, TODAY)
    batteries.add_battery(store, battery_details(name="Another"))
    return store


def test_the_list_after_a_start_computes_nothing_and_says_the_same_in_each_language(store):
    fill_with_demo(store, TODAY)
    first, made = listed(store)
    assert len(made) == len(first) > 2
    assert {row.part for row in rows(store)} == {"card", "report"}
    then, made = listed(again(store))
    assert (then, made) == (first, [])
    for kept, new in zip(then, first, strict=True):
        assert german(kept.holds.doubt) == german(new.holds.doubt) != new.holds.doubt
        assert german(kept.trend.words) == german(new.trend.words) != new.trend.words
        assert kept.trend.svg() == new.trend.svg()


def test_the_page_of_a_battery_after_a_start_computes_nothing(tested, monkeypatch):
    first = batteries.show_battery(tested, 1, TODAY).report
    monkeypatch.setattr(batteries, "analysed", None)
    assert batteries.show_battery(again(tested), 1, TODAY).report == first


def change_stay(store):
    with write_transaction(store.engine) as session:
        session.execute(update(metadata.tables["stay"]).values(from_date=TODAY.replace(day=1)))


def change_readings(store):
    """What no version tells of."""
    table = metadata.tables["discharge"]
    with write_transaction(store.engine) as session:
        values = {"readings": pack_readings(steady(hours=9.0))}
        session.execute(update(table).where(table.c.id == 1).values(values))


def restore_test(store):
    discharges.bin_discharge(store, 1, NOW)
    listed(store)
    discharges.restore_discharge(store, 1)


CHANGES = {
    "battery": lambda s: batteries.change_battery(
        s, 1, replace(batteries.get_battery(s, 1).details, rated_ah=99.0), NOW
    ),
    "test added": lambda s: discharges.add_discharge(
        s, 1, discharge_details(steady(hours=9.0), days_ago=3), MeterKind.SHUNT, NOW
    ),
    "test left out": lambda s: discharges.leave_out(s, 1, "the fridge ran too", NOW),
    "test in the bin": lambda s: discharges.bin_discharge(s, 1, NOW),
    "test out of the bin": restore_test,
    "readings": change_readings,
    "event": lambda s: events.add_event(s, 1, TODAY, EventKind.REPAIR, ""),
    "meter": lambda s: meters.change_meter(
        s, 1, replace(meters.get_meter(s, 1).details, gain_limit_percent=3.0), NOW
    ),
    "typical year": lambda s: places.change_place(
        s, 1, replace(LOCKER, seasons=(Season(1, 12, 5.0, 10.0),)), NOW
    ),
    "another place": lambda s: places.move_battery(
        s, 1, places.add_place(s, replace(LOCKER, name="shed")).id, TODAY.replace(day=1)
    ),
    "stay": change_stay,
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_nothing_that_a_card_hangs_on_can_change_without_it(tested, change):
    listed(tested)
    change(tested)
    later = again(tested)
    shown, made = listed(later)
    assert 1 in made
    expected = batteries.list_batteries(again(tested), TODAY).shown
    assert [one.answers[0] for one in expected] == [one.holds for one in shown]
    assert [card_of(one, card.in_question) for one, card in zip(expected, shown, strict=True)] == [
        *shown
    ]


def test_another_day_and_another_method_ask_for_another_one(tested, monkeypatch):
    _, made = listed(tested)
    assert listed(again(tested))[1] == []
    assert listed(again(tested), TODAY.replace(day=1))[1] == made
    listed(tested)
    assert listed(again(tested))[1] == made
    monkeypatch.setattr(result, "METHOD_VERSION", result.METHOD_VERSION + 1)
    assert listed(again(tested))[1] == made


def test_what_a_card_does_not_show_computes_nothing(tested):
    listed(tested)
    with write_transaction(tested.engine) as session:
        session.add(photo_row(1, "the clamp at the lug"))
    shares.share_battery(tested, 1, "", None, NOW)
    assert listed(again(tested))[1] == []


def test_a_battery_has_a_row_for_each_part_however_often_it_changes(tested):
    listed(tested)
    before = len(rows(tested))
    for name in ("event", "test left out", "meter"):
        CHANGES[name](tested)
        listed(tested)
    assert len(rows(tested)) == before


@pytest.mark.parametrize(
    "content",
    ["", "[]", "null", '{"a":1}', "[1,2,3,4,5,6,7]", "[" * 5000],
    ids=["nothing", "empty", "null", "object", "too short", "too deep"],
)
def test_what_cannot_be_read_back_is_computed_anew(tested, content):
    first, made = listed(tested)
    with write_transaction(tested.engine) as session:
        session.execute(update(COMPUTED).values(content=zlib.compress(content.encode())))
    assert listed(again(tested)) == (first, made)
    assert batteries.show_battery(again(tested), 1, TODAY).report.tests


def test_a_value_of_another_type_is_not_taken_for_its_own(tested):
    first, _ = listed(tested)
    (row, *_) = [one for one in rows(tested) if one.part == "card"]
    spoilt = json.loads(zlib.decompress(row.content))
    spoilt[0] = str(spoilt[0])
    with write_transaction(tested.engine) as session:
        here = (COMPUTED.c.part == "card", COMPUTED.c.battery_id == row.battery_id)
        packed = zlib.compress(json.dumps(spoilt).encode())
        session.execute(update(COMPUTED).where(*here).values(content=packed))
    assert listed(again(tested)) == (first, [row.battery_id])


def test_another_battery_of_the_same_number_gets_nothing_of_it(tested):
    """A purge takes what was computed along: it names what was to be gone for good."""
    listed(tested)
    batteries.bin_battery(tested, 1, NOW)
    purge.remove_for_good(tested, "battery", 1, purge.what_goes(tested, "battery", 1).seen)
    assert {row.battery_id for row in rows(tested)} == {2}


def test_it_is_no_record(tested, tmp_path):
    before = exported(tested, tmp_path / "a.zip")
    listed(tested)
    assert rows(tested)
    assert exported(tested, tmp_path / "b.zip") == before
    other = empty_store(tmp_path / "other")
    assert rows(other) == []
    other.engine.dispose()


@pytest.mark.data_file
def test_the_list_comes_while_another_program_writes_and_from_a_file_that_cannot_be_written(tested):
    writer = sqlite3.connect(data_file(tested.engine), isolation_level=None)
    writer.execute("BEGIN IMMEDIATE")
    first, made = listed(tested)
    assert (len(first), rows(tested)) == (2, [])
    writer.execute("ROLLBACK")
    writer.execute(
        "CREATE TRIGGER no BEFORE INSERT ON computed BEGIN SELECT RAISE(FAIL, 'no'); END"
    )
    writer.close()
    assert listed(again(tested)) == (first, made)
    assert rows(tested) == []


def test_a_page_that_takes_long_comes_with_what_there_is(tested, monkeypatch):
    monkeypatch.setattr(battery_cards, "SURELY", 1)
    monkeypatch.setattr(battery_cards, "NO_LONGER_S", 0.0)
    cards = replace(CARDS, show=Counted().show)
    first = list_shown(tested, TODAY, ListQuery(), cards).shown
    assert [(one.name, one.waits) for one in first] == [("Another", False), ("Bench battery", True)]
    with tested.listing:
        # Somebody else is at it: what is there comes at once.
        assert list_shown(tested, TODAY, ListQuery(), cards).shown == first
    assert not any(one.waits for one in list_shown(tested, TODAY, ListQuery(), cards).shown)


def test_a_long_list_is_filled_beside_the_server_and_a_short_one_is_left(tested, monkeypatch):
    said = []
    fill = partial(fill_list, tested, TODAY, CARDS, say=lambda *how: said.append(how))
    fill(lambda _seconds: False)
    assert (said, rows(tested)) == ([], [])
    for module in (list_filling, battery_cards):
        monkeypatch.setattr(module, "A_PAGE", 1)
    stops = iter((False, False, True))
    fill(lambda _seconds: next(stops))
    assert said == [(2, 2)]
    assert {row.battery_id for row in rows(tested)} == {2}
    batteries.add_battery(tested, battery_details(name="More"))
    fill(lambda _seconds: False)
    assert said[1:] == [(2, 3), (1, 3), (0, 3)]
    assert {row.battery_id for row in rows(tested)} == {1, 2, 3}
    assert tested.filling == (0, 0)


def test_the_filler_stops_with_the_server(tested, monkeypatch):
    monkeypatch.setattr(list_filling, "A_PAGE", 1)
    monkeypatch.setattr(battery_cards, "A_PAGE", 1)
    with ListFiller(tested, lambda: NOW, every_s=0.01) as filler:
        for _ in range(1000):
            if len(rows(tested)) == 3:
                break
            time.sleep(0.02)
    assert not filler._thread.is_alive()
    assert battery_cards.without_card(again(tested), TODAY, 0, CARDS) == []
