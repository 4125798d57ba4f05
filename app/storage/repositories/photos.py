"""Photos of tests in the data file."""

import hashlib
from datetime import datetime

from sqlalchemy.orm import defer
from sqlmodel import Session, col, func, select

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.domain.photo import Photo, Picture
from app.storage.repositories import soft_delete
from app.storage.schema.packing import pack_row
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import PhotoRow, RevisionRow

# The bytes stay in the file until somebody asks for them.
_WITHOUT_BYTES = defer(PhotoRow.jpeg)  # type: ignore[arg-type]


def add(
    session: Session, discharge_id: int, picture: Picture, caption: str, now: datetime
) -> Photo:
    """Store a photo that was drawn anew."""
    row = PhotoRow(
        discharge_id=discharge_id,
        caption=caption,
        added_at=now,
        width=picture.width,
        height=picture.height,
        sha256=picture.sha256,
        jpeg=picture.jpeg,
    )
    session.add(row)
    session.flush()
    return _photo(row)


def get(session: Session, photo_id: int) -> Photo:
    """One photo that is not in the bin. Raises NotFound."""
    return _photo(_row(session, photo_id))


def of_discharge(session: Session, discharge_id: int) -> list[Photo]:
    """The test's photos in the order in which they were added."""
    query = (
        select(PhotoRow)
        .where(PhotoRow.discharge_id == discharge_id, col(PhotoRow.deleted_at).is_(None))
        .options(_WITHOUT_BYTES)
        .order_by(col(PhotoRow.id))
    )
    return [_photo(row) for row in session.exec(query)]


def jpeg(session: Session, photo_id: int) -> bytes:
    """The bytes of a photo, checked against their hash. Raises NotFound and StorageError."""
    row = _row(session, photo_id)
    if hashlib.sha256(row.jpeg).hexdigest() != row.sha256:
        raise StorageError(
            say(
                "Photo {number} is not what was stored. Go back to a backup from before it "
                "(“fadeline restore FILE”), or put it in the bin and add it again.",
                number=photo_id,
            )
        )
    return row.jpeg


def change_caption(session: Session, photo_id: int, caption: str, now: datetime) -> Photo:
    """Write another caption below a photo, keeping the one that it replaces."""
    row = _row(session, photo_id)
    if row.caption == caption:
        return _photo(row)
    session.add(
        RevisionRow(
            thing="photo",
            thing_id=photo_id,
            version=1 + _captions_kept(session, photo_id),
            replaced_at=now,
            # The picture itself never changes and is kept once.
            before=pack_row(row.model_dump(exclude={"jpeg"})),
        )
    )
    row.caption = caption
    session.add(row)
    return _photo(row)


def binned(session: Session) -> list[tuple[Photo, datetime]]:
    """What lies in the bin, the newest first, with when it was put there."""
    found = soft_delete.binned(session, PhotoRow, _WITHOUT_BYTES)
    return [(_photo(row), when) for row, when in found]


def put_in_bin(session: Session, photo_id: int, now: datetime) -> Photo:
    """Raises NotFound where it is not there, or lies there already."""
    return _photo(soft_delete.put(session, PhotoRow, photo_id, now))


def restore(session: Session, photo_id: int) -> Photo:
    """Take a photo out of the bin. Raises NotFound, and StaleEdit."""
    return _photo(soft_delete.taken_out(session, PhotoRow, photo_id))


def _captions_kept(session: Session, photo_id: int) -> int:
    query = select(func.count()).where(
        RevisionRow.thing == "photo", RevisionRow.thing_id == photo_id
    )
    return session.exec(query).one()


def _row(session: Session, photo_id: int) -> PhotoRow:
    return soft_delete.kept(session, PhotoRow, photo_id, _WITHOUT_BYTES)


def _photo(row: PhotoRow) -> Photo:
    return Photo(
        id=number_of(row),
        discharge_id=row.discharge_id,
        caption=row.caption,
        added_at=row.added_at,
        width=row.width,
        height=row.height,
        sha256=row.sha256,
    )
