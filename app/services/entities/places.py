"""Use cases around places: where batteries live and what is known of the warmth there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from app.domain.entities.place import Place, PlaceDetails, Stay
from app.domain.entity_kind import EntityKind
from app.domain.errors import InvalidInput, NotFound
from app.domain.i18n.message import say
from app.domain.temperature_log import HourlyTemperatures, TemperatureLog
from app.services.entities.discharges import refuse_binned_battery
from app.services.entities.edit_conflict import refuse_overtaken
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, places, temperature_logs


@dataclass(frozen=True)
class PlaceView:
    """A place with its logs, and which battery (number, name) was there from which day on."""

    place: Place
    logs: tuple[TemperatureLog, ...]
    stays: tuple[tuple[Stay, str], ...]


def list_places(store: Store) -> list[PlaceView]:
    """Every place that is not in the bin, by name."""
    with read_session(store.engine) as session:
        return [_view(session, place) for place in places.all_kept(session)]


def show_place(store: Store, place_id: int) -> PlaceView:
    """One place. Raises NotFound."""
    with read_session(store.engine) as session:
        return _view(session, places.get(session, place_id))


def add_place(store: Store, details: PlaceDetails) -> Place:
    """Store a new place; its values are checked by whoever made the details."""
    with write_transaction(store.engine) as session:
        return places.add(session, details)


def change_place(
    store: Store, place_id: int, details: PlaceDetails, now: datetime, seen: int | None = None
) -> Place:
    """Replace what is known of a place, keeping what it replaces.

    Raises NotFound, and EditConflict where another version than `seen` is stored.
    """
    with write_transaction(store.engine) as session:
        refuse_overtaken(session, EntityKind.PLACE, place_id, seen, details)
        return places.change(session, place_id, details, now)


def bin_place(store: Store, place_id: int, now: datetime) -> Place:
    """Out of sight. Raises NotFound, and InvalidInput while the life of a battery rests on it."""
    with write_transaction(store.engine) as session:
        names = batteries.names(session)
        there = sorted({names[stay.battery_id] for stay in places.stays_at(session, place_id)})
        if there:
            raise InvalidInput.because(
                say("place"),
                ", ".join(there),
                say("a place that no battery has stayed at; put those stays in the bin first"),
            )
        return places.put_in_bin(session, place_id, now)


def restore_place(store: Store, place_id: int) -> Place:
    """Out of the bin. Raises NotFound, and StaleEdit where it was restored already."""
    with write_transaction(store.engine) as session:
        return places.restore(session, place_id)


def stays_of(store: Store, battery_id: int) -> list[tuple[Stay, str]]:
    """The stays of a battery in order, each with the name of the place."""
    with read_session(store.engine) as session:
        batteries.get(session, battery_id)
        names = {place.id: place.details.name for place in places.all_kept(session)}
        return [(stay, names[stay.place_id]) for stay in places.stays_of(session, battery_id)]


def move_battery(store: Store, battery_id: int, place_id: int, from_date: date) -> Stay:
    """From a day on the battery is at a place.

    Raises NotFound, and InvalidInput for a day twice.
    """
    with write_transaction(store.engine) as session:
        batteries.get(session, battery_id)
        places.get(session, place_id)
        return places.add_stay(session, battery_id, place_id, from_date)


def take_stay_back(store: Store, stay_id: int, now: datetime) -> Stay:
    """The stay was an error: the one before goes on. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return places.bin_stay(session, stay_id, now)


def restore_stay(store: Store, stay_id: int) -> Stay:
    """Raises NotFound, and InvalidInput where another stay begins on that day."""
    with write_transaction(store.engine) as session:
        stay = places.restore_stay(session, stay_id)
        refuse_binned_battery(session, stay.battery_id)
        _refuse_binned_place(session, stay.place_id)
        return stay


def add_log(
    store: Store,
    place_id: int,
    source: str,
    said: Sequence[str],
    hourly: HourlyTemperatures,
    now: datetime,
    *,
    gives_way: bool,
) -> int:
    """Store a logger's hours; returns its number. Raises NotFound."""
    with write_transaction(store.engine) as session:
        places.get(session, place_id)
        return temperature_logs.add(
            session, place_id, source, said, hourly, now, gives_way=gives_way
        )


def bin_log(store: Store, log_id: int, now: datetime) -> int:
    """Out of sight; returns the number of its place. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return temperature_logs.put_in_bin(session, log_id, now)


def restore_log(store: Store, log_id: int) -> int:
    """Out of the bin; returns the number of its place."""
    with write_transaction(store.engine) as session:
        place_id = temperature_logs.restore(session, log_id)
        _refuse_binned_place(session, place_id)
        return place_id


def _view(session: Session, place: Place) -> PlaceView:
    names = batteries.names(session)
    stays = tuple((stay, names[stay.battery_id]) for stay in places.stays_at(session, place.id))
    return PlaceView(place, tuple(temperature_logs.of_place(session, place.id)), stays)


def _refuse_binned_place(session: Session, place_id: int) -> None:
    try:
        places.get(session, place_id)
    except NotFound:
        found = say("what belongs to a place in the bin")
        allowed = say("its place restored first")
        raise InvalidInput.because(say("restore"), found, allowed) from None
