"""What the tables keep as bytes: readings, original files, photos and replaced rows."""

import hashlib
import zlib
from collections.abc import Iterator
from typing import Any

from sqlmodel import Session, col, select

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.storage.repositories import attachments
from app.storage.schema.packing import pack_readings, pack_row, unpack_readings, unpack_row
from app.storage.schema.tables import AttachmentRow, DischargeRow, PhotoRow, RevisionRow

# A long log has some megabytes as it is stored.
_LOGS_AT_ONCE = 20


def all_readings(session: Session) -> Iterator[tuple[str, Readings]]:
    """Lasting name and readings of every capacity test in order of its number, one at a time."""
    query = select(DischargeRow.uid, DischargeRow.readings).order_by(col(DischargeRow.id))
    for uid, data in session.exec(query, execution_options={"yield_per": _LOGS_AT_ONCE}):
        yield uid, unpack_readings(data)


def readings_of(session: Session, uid: str) -> Readings:
    """The readings of the capacity test with this lasting name."""
    return unpack_readings(
        session.exec(select(DischargeRow.readings).where(DischargeRow.uid == uid)).one()
    )


def all_originals(session: Session) -> Iterator[tuple[str, bytes]]:
    """SHA-256 and bytes of every original file, each once. Raises StorageError for damage."""
    seen = ""
    query = select(AttachmentRow.sha256, AttachmentRow.id)
    ordered = query.order_by(col(AttachmentRow.sha256), col(AttachmentRow.id))
    for sha256, number in session.exec(ordered).all():
        if sha256 != seen and number is not None:
            yield sha256, attachments.data(session, number)[1]
        seen = sha256


def all_photos(session: Session) -> Iterator[tuple[str, bytes]]:
    """SHA-256 and bytes of every photo, each once. Raises StorageError for damage."""
    digests = select(PhotoRow.sha256).distinct().order_by(col(PhotoRow.sha256))
    for sha256 in session.exec(digests).all():
        query = select(PhotoRow.jpeg).where(PhotoRow.sha256 == sha256).limit(1)
        jpeg = session.exec(query).one()
        if hashlib.sha256(jpeg).hexdigest() != sha256:
            raise StorageError(say("The photo {hash}… is not what was stored.", hash=sha256[:16]))
        yield sha256, jpeg


def replaced_row(session: Session, revision_id: int) -> dict[str, Any]:
    """The row that one edit replaced."""
    query = select(RevisionRow.before).where(RevisionRow.id == revision_id)
    return unpack_row(session.exec(query).one())


def packed(table: str, content: Any) -> dict[str, bytes]:
    """The column of a table that keeps this content as bytes; none for most tables."""
    if table == "discharge":
        return {"readings": pack_readings(content)}
    if table == "attachment":
        return {"packed": zlib.compress(content, 6)}
    if table == "photo":
        return {"jpeg": content}
    if table == "revision":
        return {"before": pack_row(content)}
    return {}
