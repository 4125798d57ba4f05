import math
from array import array
from datetime import timedelta

import pytest

from app.domain.entities.place import HoursAt, PlaceDetails, Season
from app.domain.errors import InvalidInput, NotFound
from app.domain.temperature_log import HourlyTemperatures
from app.services.entities import batteries, places
from app.storage.database.engine import read_session
from app.storage.repositories import temperature_logs
from tests.builders import NOW, battery_details

TODAY = NOW.date()


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


def test_a_season_may_go_over_the_new_year():
    assert Season(11, 2, 0, 10).months == (11, 12, 1, 2)
    assert Season(4, 4, 0, 10).months == (4,)
    assert len(Season(5, 4, 0, 10).months) == 12


def test_a_place_comes_back_as_it_was_stored(store):
    details = PlaceDetails(
        "under the bench", "dark", (Season(4, 9, 12.5, 31.0),), (HoursAt(30.0, 1200.0),)
    )
    stored = places.add_place(store, details)
    assert places.show_place(store, stored.id).place.details == details
    changed = places.change_place(store, stored.id, PlaceDetails("locker"), NOW)
    assert (changed.details.name, changed.version) == ("locker", 2)


def test_a_log_comes_back_with_its_gaps(store):
    place = places.add_place(store, PlaceDetails("locker"))
    celsius = array("d", [20.0 + h / 100 for h in range(24)] + [math.nan] * 48 + [-5.25] * 24)
    hourly = HourlyTemperatures(TODAY - timedelta(days=10), celsius)
    log_id = places.add_log(store, place.id, "a.csv", ("said",), hourly, NOW, gives_way=True)
    (log,) = places.show_place(store, place.id).logs
    assert (log.first_day, log.last_day) == (hourly.first_day, TODAY - timedelta(days=7))
    assert (log.source, log.said, log.gives_way) == ("a.csv", ("said",), True)
    with read_session(store.engine) as session:
        back = temperature_logs.hours(session, log_id)
    assert back.first_day == hourly.first_day
    assert back.celsius.tolist() == pytest.approx(celsius.tolist(), nan_ok=True)


def test_two_stays_cannot_begin_on_one_day(store, battery):
    place = places.add_place(store, PlaceDetails("locker"))
    first = places.move_battery(store, battery.id, place.id, TODAY)
    with pytest.raises(InvalidInput, match="first day there"):
        places.move_battery(store, battery.id, place.id, TODAY)
    places.take_stay_back(store, first.id, NOW)
    places.move_battery(store, battery.id, place.id, TODAY)
    with pytest.raises(InvalidInput, match="first day there"):
        places.restore_stay(store, first.id)


def test_a_place_where_a_battery_was_does_not_go_to_the_bin(store, battery):
    place = places.add_place(store, PlaceDetails("locker"))
    stay = places.move_battery(store, battery.id, place.id, TODAY)
    with pytest.raises(InvalidInput, match="Bench battery"):
        places.bin_place(store, place.id, NOW)
    places.take_stay_back(store, stay.id, NOW)
    places.bin_place(store, place.id, NOW)
    with pytest.raises(NotFound):
        places.show_place(store, place.id)
    with pytest.raises(InvalidInput, match="its place restored first"):
        places.restore_stay(store, stay.id)
    places.restore_place(store, place.id)
    places.restore_stay(store, stay.id)
    assert [name for _, name in places.stays_of(store, battery.id)] == ["locker"]
