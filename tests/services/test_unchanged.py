"""The list of batteries is made anew when something changed, and only then."""

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from app.services import batteries
from tests.builders import NOW, battery_details

TODAY = NOW.date()


@pytest.fixture
def made(monkeypatch):
    """The names of the batteries that were reported on, in order."""
    names, real = [], batteries.battery_report

    def counted(battery, *rest):
        names.append(battery.details.name)
        return real(battery, *rest)

    monkeypatch.setattr(batteries, "battery_report", counted)
    return names


def names(store, today=TODAY):
    return [report.name for report in batteries.list_batteries(store, today)]


def test_nothing_is_computed_again_while_nothing_changes(store, made):
    batteries.add_battery(store, battery_details(name="One"))
    assert names(store) == names(store) == ["One"]
    assert made == ["One"]


def test_a_change_of_ones_own_shows_at_once(store, made):
    one = batteries.add_battery(store, battery_details(name="One"))
    names(store)
    batteries.change_battery(store, one.id, battery_details(name="Other"), NOW)
    assert names(store) == ["Other"]
    batteries.bin_battery(store, one.id, NOW)
    assert names(store) == []


def test_a_change_by_another_program_shows_at_once(store, made):
    batteries.add_battery(store, battery_details(name="One"))
    names(store)
    with closing(sqlite3.connect(store.engine.url.database)) as other:
        other.execute("UPDATE battery SET name = 'Theirs'")
        other.commit()
    assert names(store) == ["Theirs"]


def test_what_was_not_stored_in_the_end_does_not_show(store, made):
    batteries.add_battery(store, battery_details(name="One"))
    with closing(sqlite3.connect(store.engine.url.database)) as other:
        other.execute("UPDATE battery SET name = 'Theirs'")
        assert names(store) == ["One"]
        other.rollback()
    assert names(store) == ["One"]


def test_another_day_is_another_list(store, made):
    batteries.add_battery(store, battery_details(name="One"))
    names(store)
    names(store, TODAY + timedelta(days=1))
    assert made == ["One", "One"]
