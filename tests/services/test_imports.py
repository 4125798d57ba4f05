"""Tests that come in together: all or none, and taken back in one step."""

from datetime import timedelta

import pytest

from app.domain.entities.meter import MeterKind
from app.domain.errors import InvalidInput, NotFound, StaleEdit
from app.domain.i18n.message import say, say_plural
from app.domain.readings import Readings
from app.services.entities import batteries, bin, discharges, imports
from app.services.entities.discharges import Original
from app.services.entities.imports import NewTest
from tests.builders import NOW, battery_details, discharge_details

NONE = Readings.of([], [])
TODAY = NOW.date()


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


def noted(**changes):
    return NewTest(discharge_details(NONE, **({"counted_ah": 96.4} | changes)), MeterKind.SHUNT)


def stored(store, battery):
    return batteries.show_battery(store, battery.id, TODAY).report.tests


def test_they_are_stored_together_and_taken_back_together(store, battery):
    alone = discharges.add_discharge(
        store, battery.id, noted(days_ago=3).details, MeterKind.SHUNT, NOW
    )
    tests = [noted(days_ago=100 * n, counted_ah=100.0 - n) for n in range(1, 12)]
    made = imports.add_discharges(store, battery.id, tests, NOW)
    assert len(stored(store, battery)) == 12
    (uid,) = {one.details.import_uid for one in made}
    assert alone.details.import_uid == ""
    gone = imports.take_back_import(store, battery.id, uid, NOW)
    assert len(gone) == 11
    assert [one.id for one in stored(store, battery)] == [alone.id]
    with pytest.raises(NotFound, match="Nothing of this import is left"):
        imports.take_back_import(store, battery.id, uid, NOW)
    assert len(bin.list_bin(store)) == 11


def test_one_that_cannot_be_stored_stops_them_all(store, battery):
    for wrong in (noted(counted_ah=None), noted(days_ago=-9), noted(counted_wh=9.0, counted_ah=0)):
        with pytest.raises(InvalidInput):
            imports.add_discharges(store, battery.id, [noted(days_ago=50), wrong], NOW)
    assert stored(store, battery) == ()


def test_an_empty_name_of_an_import_takes_nothing_back(store, battery):
    discharges.add_discharge(store, battery.id, noted().details, MeterKind.SHUNT, NOW)
    with pytest.raises(NotFound):
        imports.take_back_import(store, battery.id, "", NOW)


def test_two_results_of_one_day_are_two_tests(store, battery):
    made = imports.add_discharges(
        store, battery.id, [noted(), noted(counted_ah=95.0), noted(counted_ah=94.0)], NOW
    )
    starts = [one.details.started_at for one in made]
    assert starts == [starts[0] + timedelta(minutes=n) for n in range(3)]
    again = discharges.change_discharge(
        store, made[1].id, noted(counted_ah=95.5).details, MeterKind.SHUNT, NOW
    )
    assert again.details.started_at == starts[1]


def test_what_ends_in_the_middle_stores_nothing(store, battery, monkeypatch):
    seen = []

    def stops_at_the_third(*given):
        seen.append(given)
        if len(seen) == 3:
            raise KeyboardInterrupt
        return discharges.add_judged(*given)

    monkeypatch.setattr(imports, "add_judged", stops_at_the_third)
    tests = [noted(days_ago=100 * n) for n in range(1, 5)]
    with pytest.raises(KeyboardInterrupt):
        imports.add_discharges(store, battery.id, tests, NOW)
    assert stored(store, battery) == ()


def test_one_import_is_stored_once_and_again_only_after_it_was_taken_back(store, battery):
    tests = [noted(days_ago=100 * n) for n in range(1, 4)]
    imports.add_discharges(store, battery.id, tests, NOW, import_uid="a" * 32)
    with pytest.raises(StaleEdit, match="stored already"):
        imports.add_discharges(store, battery.id, tests, NOW, import_uid="a" * 32)
    assert len(stored(store, battery)) == 3
    imports.take_back_import(store, battery.id, "a" * 32, NOW)
    assert imports.show_import(store, battery.id, "a" * 32).binned == 3
    imports.add_discharges(store, battery.id, tests, NOW, import_uid="a" * 32)
    assert len(stored(store, battery)) == 3


def test_a_large_file_is_kept_once_and_a_small_one_with_each(store, battery, monkeypatch):
    monkeypatch.setattr(imports, "_MAX_COPIED_BYTES", 5)
    for data, files in ((b"x", [1, 1]), (b"xyz", [1, 0])):
        tests = [noted(days_ago=n) for n in (1, 2)]
        made = imports.add_discharges(
            store, battery.id, tests, NOW, Original("a.csv", data, (), ())
        )
        seen = [len(discharges.show_discharge(store, one.id).files) for one in made]
        assert seen == files


def test_of_what_was_assumed_only_rows_that_stayed_out_are_told(store, battery):
    left_out = say_plural(*imports.LEFT_OUT, 2, lines="4, 5")
    said = (say("“{heading}” is {use}.", heading="Ah", use="Ah"), left_out)
    (made,) = imports.add_discharges(store, battery.id, [noted(assumptions=said)], NOW)
    found = imports.show_import(store, battery.id, made.details.import_uid)
    assert (found.stored, found.left_out) == (1, (left_out,))
