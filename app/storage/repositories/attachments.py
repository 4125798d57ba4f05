"""Original files in the data file, and what their columns were taken for."""

import hashlib
import json
import zlib
from collections.abc import Sequence
from dataclasses import asdict

from sqlalchemy.orm import defer
from sqlmodel import Session, col, select

from app.domain.errors import NotFound, StorageError
from app.domain.i18n.message import say
from app.domain.records.attachment import Attachment
from app.domain.units.column import ColumnUse, CsvDialect
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import AttachmentRow, BatteryRow, FileShapeRow


def add(session: Session, discharge_id: int, name: str, data: bytes) -> None:
    """Store the file that a test came from, compressed, with its hash and its size in bytes."""
    session.add(
        AttachmentRow(
            discharge_id=discharge_id,
            name=name,
            sha256=hashlib.sha256(data).hexdigest(),
            size=len(data),
            packed=zlib.compress(data, 6),
        )
    )


def of_discharge(session: Session, discharge_id: int) -> list[Attachment]:
    """The files of a test in the order in which they were added, without their bytes."""
    query = (
        select(AttachmentRow)
        .where(AttachmentRow.discharge_id == discharge_id)
        # The bytes stay in the file until somebody asks for them.
        .options(defer(AttachmentRow.packed))  # type: ignore[arg-type]
        .order_by(col(AttachmentRow.id))
    )
    return [
        Attachment(number_of(row), discharge_id, row.name, row.sha256, row.size)
        for row in session.exec(query)
    ]


def data(session: Session, attachment_id: int) -> tuple[str, bytes]:
    """Name and bytes, checked against the hash. Raises NotFound, and StorageError for damage."""
    row = session.get(AttachmentRow, attachment_id)
    if row is None:
        raise NotFound(say("There is no file {number}.", number=attachment_id))
    try:
        unpacked = zlib.decompress(row.packed)
    except zlib.error as error:
        raise StorageError(say("The kept file {name} is damaged.", name=row.name)) from error
    if hashlib.sha256(unpacked).hexdigest() != row.sha256:
        raise StorageError(say("The kept file {name} is not what was stored.", name=row.name))
    return row.name, unpacked


def remember_shape(
    session: Session, battery_id: int, header: Sequence[str], uses: Sequence[ColumnUse]
) -> None:
    """The next file of this battery with these headings is read the same way.

    Only what its columns are: marks and order of dates are told by each file itself.
    """
    digest = _digest(session, battery_id, header)
    row = session.exec(select(FileShapeRow).where(FileShapeRow.headings_hash == digest)).first()
    if row is None:
        row = FileShapeRow(headings_hash=digest, uses="", layout="")
    row.uses, row.layout = json.dumps(list(uses)), json.dumps(asdict(CsvDialect()))
    session.add(row)


def known_shape(
    session: Session, battery_id: int, header: Sequence[str]
) -> tuple[ColumnUse, ...] | None:
    """Uses of this battery's last file with these headings."""
    digest = _digest(session, battery_id, header)
    row = session.exec(select(FileShapeRow).where(FileShapeRow.headings_hash == digest)).first()
    return None if row is None else tuple(ColumnUse(use) for use in json.loads(row.uses))


def _digest(session: Session, battery_id: int, header: Sequence[str]) -> str:
    """By the battery's lasting name, which it keeps in other records, and its file's headings."""
    uid = session.exec(select(BatteryRow.uid).where(BatteryRow.id == battery_id)).first()
    return hashlib.sha256("\x1f".join((uid or "", *header)).encode()).hexdigest()
