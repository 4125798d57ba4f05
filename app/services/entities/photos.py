"""Use cases around photos of a test."""

from collections.abc import Sequence
from datetime import datetime

from sqlmodel import Session

from app.domain.errors import FadelineError, FieldError, InvalidInput, NotFound, problems_of
from app.domain.i18n.message import say
from app.domain.photo import MAX_PER_TEST, Photo, Picture
from app.services.entities.discharges import refuse_binned_battery
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, discharges, photos


def add_photos(
    store: Store,
    discharge_id: int,
    files: Sequence[tuple[str, bytes]],
    caption: str,
    now: datetime,
) -> list[Photo]:
    """Store pictures (name and bytes) with a test, all of them or none.

    A picture that the test has already is not stored twice. Raises NotFound, and InvalidInput with
    every file that cannot be taken.
    """
    if not files:
        raise InvalidInput.because(say("photos"), "", say("one or more pictures"), "photos")
    _refuse_too_many(len(files))
    # Drawing takes a while: nothing waits for it.
    pictures = _all_redrawn(files)
    with write_transaction(store.engine) as session:
        _tested(session, discharge_id)
        there = photos.of_discharge(session, discharge_id)
        known = {photo.sha256 for photo in there}
        new = {one.sha256: one for one in pictures if one.sha256 not in known}
        _refuse_too_many(len(there) + len(new))
        return [photos.add(session, discharge_id, one, caption, now) for one in new.values()]


def get_photo(store: Store, photo_id: int) -> Photo:
    """What is known of a photo. Raises NotFound."""
    with read_session(store.engine) as session:
        return _shown(session, photo_id)


def photo_jpeg(store: Store, photo_id: int) -> bytes:
    """The bytes of a photo. Raises NotFound, and StorageError for damage."""
    with read_session(store.engine) as session:
        _shown(session, photo_id)
        return photos.jpeg(session, photo_id)


def change_caption(store: Store, photo_id: int, caption: str, now: datetime) -> Photo:
    """Write another caption, keeping what it replaces. Raises NotFound."""
    with write_transaction(store.engine) as session:
        _shown(session, photo_id)
        return photos.change_caption(session, photo_id, caption, now)


def bin_photo(store: Store, photo_id: int, now: datetime) -> Photo:
    """Move a photo out of sight. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return photos.put_in_bin(session, photo_id, now)


def restore_photo(store: Store, photo_id: int) -> Photo:
    """Take a photo out of the bin.

    Raises InvalidInput while its test lies there, or has too many.
    """
    with write_transaction(store.engine) as session:
        photo = photos.restore(session, photo_id)
        try:
            test = discharges.get(session, photo.discharge_id)
        except NotFound:
            allowed = say("its test restored first")
            found = say("a photo of a test in the bin")
            raise InvalidInput.because(say("restore"), found, allowed) from None
        refuse_binned_battery(session, test.battery_id)
        _refuse_too_many(len(photos.of_discharge(session, test.id)))
        return photo


def _shown(session: Session, photo_id: int) -> Photo:
    """A photo that does not lie in the bin, nor does its test or its battery."""
    photo = photos.get(session, photo_id)
    _tested(session, photo.discharge_id)
    return photo


def _tested(session: Session, discharge_id: int) -> None:
    batteries.get(session, discharges.get(session, discharge_id).battery_id)


def _refuse_too_many(count: int) -> None:
    if count > MAX_PER_TEST:
        allowed = say("at most {most} to a test, including those it already has", most=MAX_PER_TEST)
        raise InvalidInput.because(say("photos"), count, allowed, "photos")


def _all_redrawn(files: Sequence[tuple[str, bytes]]) -> list[Picture]:
    # Here, because few starts need what draws pictures.
    from app.ingest.photo_reencoding import redrawn

    drawn: list[Picture] = []
    problems: list[FieldError] = []
    for name, data in files:
        try:
            drawn.append(redrawn(data, name))
        except FadelineError as error:
            problems += problems_of(error)
    if problems:
        raise InvalidInput(problems)
    return drawn
