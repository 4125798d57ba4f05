"""What a table of an archive keeps as bytes, and whether its tests can be shown."""

from collections.abc import Callable

from sqlmodel import Session

from app.analysis.evidence.result import analyse_test
from app.archive.reader import Archive
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import joined, say
from app.domain.records.table_schema import Row, TableSchema
from app.storage.backup.jpeg_size import jpeg_size
from app.storage.records.archive_import import ContentOf
from app.storage.repositories import batteries, discharges, meters

# Told how far a long job is: what is done, and how many of it.
Progress = Callable[[str, int], None]


def content_of(table: TableSchema, archive: Archive) -> ContentOf | None:
    """How to get what a table keeps as bytes; None for tables of plain columns."""

    def original(row: Row) -> bytes:
        data = archive.original(row["sha256"])
        if len(data) != row["size"]:
            where = say("Original files, row with id {number}, size", number=row["id"])
            allowed = say("{size}, the size of the file", size=len(data))
            raise InvalidInput.because(where, row["size"], allowed)
        return data

    def photo(row: Row) -> bytes:
        jpeg = archive.photo(row["sha256"])
        size = jpeg_size(jpeg)
        if size != (row["width"], row["height"]):
            given = f"{row['width']} × {row['height']}"
            if size is None:
                allowed = say("the size of the JPEG picture (it is no JPEG)")
            else:
                allowed = say(
                    "the size of the JPEG picture (it has {width} × {height})",
                    width=size[0],
                    height=size[1],
                )
            where = say("Photos, row with id {number}, width and height", number=row["id"])
            raise InvalidInput.because(where, given, allowed)
        return jpeg

    return {
        "discharge": lambda row: row["readings"],
        "attachment": original,
        "photo": photo,
        "revision": lambda row: row["before"],
    }.get(table.name)


def judge(session: Session, added: frozenset[int], progress: Progress) -> None:
    """Refuse tests that no page could show: each new one is analysed once."""
    if not added:
        return
    judged = 0
    by_id = {meter.id: meter for meter in meters.all_kept(session)}
    # Of batteries in the bin too: out of it they must not stop every page.
    binned = [battery for battery, _ in batteries.binned(session)]
    for battery in (*batteries.all_kept(session), *binned):
        for test in discharges.of_battery(session, battery.id):
            if test.id not in added:
                continue
            judged += 1
            progress("capacity tests checked", judged)
            meter = by_id.get(test.details.meter_id or 0)
            try:
                analyse_test(
                    test.details, battery.details, None if meter is None else meter.details
                )
            except InvalidInput as refused:
                name = say(
                    "{battery}, capacity test of {start}",
                    battery=battery.details.name,
                    start=test.details.started_local,
                )
                raise InvalidInput(
                    [FieldError(joined(": ", (name, refused.words)), "", "")]
                ) from refused
