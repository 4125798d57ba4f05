"""Files that were read but are not yet stored as a test.

The preview shows what was assumed; only the owner's "store" makes a test of it. Until then the
bytes wait in a folder, for a day.
"""

import contextlib
import re
import secrets
import shutil
import time
from collections.abc import Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import IO

from app.domain.errors import FieldError, InvalidInput, StorageError
from app.domain.i18n.message import say
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.domain.units.column import ColumnUse, CsvDialect
from app.domain.units.time_units import SECONDS_PER_DAY
from app.ingest.containers.file_kind import START_BYTES, is_packed
from app.ingest.discharge_selection import ListedDischarge
from app.ingest.opened_file import Opened, open_file, undecided_part
from app.ingest.past_tests.kind_of_table import past_tests_elsewhere
from app.ingest.reader import read_each, read_opened, undecided, undecided_discharge
from app.ingest.remembered_columns import still_fits
from app.ingest.text import decode, too_large
from app.ingest.typed import read_typed
from app.services.exchange.staged_upload import NOT_SAID, Meant, Source, StagedUpload
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import attachments

KEEP_S = SECONDS_PER_DAY
# The folder may be one that its owner had before: only what is named so is ours to remove.
_PREFIX = "upload-"
_NAME = re.compile(_PREFIX + "[A-Za-z0-9_-]{24}")


def check_size(size: int) -> None:
    """Refuse a file above the limit before anything of it is read."""
    if size > UPLOAD_LIMIT_MB * 1_000_000:
        raise too_large(size)


def stage(
    store: Store, data: bytes, meant: Meant = NOT_SAID, battery_id: int | None = None
) -> StagedUpload:
    """Keep a file's bytes for the preview. Raises InvalidInput where it is no table of numbers."""
    name = keep_waiting(store, data)
    # A long log is large: one copy of it at a time.
    del data
    try:
        found = look_at(store, name, None, meant, battery_id=battery_id)
    except InvalidInput as refused:
        elsewhere = past_tests_elsewhere(staged_bytes(store, name), meant.part)
        drop_staged(store, name)
        raise elsewhere or refused from None
    if found.source is None and (
        elsewhere := past_tests_elsewhere(staged_bytes(store, name), meant.part)
    ):
        drop_staged(store, name)
        raise elsewhere
    return found


def keep_waiting(store: Store, data: bytes) -> str:
    """Keep bytes until their preview is answered; returns the name. Raises StorageError."""
    path = waiting_path(store)
    try:
        path.write_bytes(data)
    except OSError as error:
        raise StorageError(
            say(
                "The file could not be kept for the preview ({reason}). Nothing was stored.",
                reason=error.strerror,
            )
        ) from error
    return path.name


def look_at(
    store: Store,
    name: str,
    uses: Sequence[ColumnUse] | None,
    meant: Meant = NOT_SAID,
    layout: CsvDialect | None = None,
    battery_id: int | None = None,
) -> StagedUpload:
    """Read a staged file with these columns. Raises InvalidInput where it is no longer there.

    Where none are given they are those of the battery's last file with these headings, if they
    still fit, else guessed.

    Columns that were chosen for another layout are guessed anew.
    """
    opened, chosen, problems = _opened(store, name, uses, layout, meant, battery_id)
    problems += undecided_part(opened, meant.part)
    taken = opened.uses if chosen is None else chosen
    source: Source | None = None
    channels: tuple[str, ...] = ()
    discharges: tuple[ListedDischarge, ...] = ()
    try:
        read = read_opened(opened, chosen, meant.channel, meant.discharge)
        channels, discharges = read.channels, read.discharges
        problems += undecided(channels, meant.channel)
        problems += undecided_discharge(read, meant.discharge) if discharges else ()
        source = Source.of(read)
    except InvalidInput as refused:
        problems += refused.problems
    table = opened.table
    return StagedUpload(
        name=name,
        header=table.header,
        uses=taken,
        sample=opened.sample,
        source=source,
        channels=channels,
        delimiter=table.delimiter,
        decimal=table.decimal,
        layout=opened.layout,
        problems=problems,
        parts=opened.parts,
        part=opened.part,
        in_cells=opened.in_cells,
        discharges=discharges,
    )


def look_at_each(
    store: Store,
    name: str,
    uses: Sequence[ColumnUse] | None,
    meant: Meant = NOT_SAID,
    layout: CsvDialect | None = None,
    battery_id: int | None = None,
) -> tuple[Source, ...]:
    """Every discharge of a staged file, read with these columns. Raises InvalidInput."""
    opened, chosen, _ = _opened(store, name, uses, layout, meant, battery_id)
    return tuple(map(Source.of, read_each(opened, chosen, meant.channel)))


def import_uid_of(name: str) -> str:
    """By this the tests of a preview are known: it is stored once, however often its button is
    pressed."""
    return sha256(name.encode()).hexdigest()[:32]


def _opened(
    store: Store,
    name: str,
    uses: Sequence[ColumnUse] | None,
    layout: CsvDialect | None,
    meant: Meant,
    battery_id: int | None,
) -> tuple[Opened, tuple[ColumnUse, ...] | None, tuple[FieldError, ...]]:
    """The file's cells and the uses of its columns as chosen, else remembered; None: as guessed."""
    problems: tuple[FieldError, ...] = ()
    data = staged_bytes(store, name)
    try:
        opened = open_file(data, layout or CsvDialect(), meant.part)
    except InvalidInput as refused:
        if layout is None:
            raise
        # A layout that finds no columns is a problem to show, not the end of the preview.
        opened, problems = open_file(data, part=meant.part), refused.problems
    chosen = None if uses is None or len(uses) != opened.table.width else tuple(uses)
    known = _known_uses(store, opened, battery_id)
    if known is None or chosen not in (None, known) or not still_fits(opened, known, meant.channel):
        return opened, chosen, problems
    words = say(
        "Fadeline used the columns as last time: this battery had a file with these headings."
    )
    return replace(opened, said=(*opened.said, words)), known, problems


def _known_uses(
    store: Store, opened: Opened, battery_id: int | None
) -> tuple[ColumnUse, ...] | None:
    if battery_id is None or not opened.table.headed:
        return None
    with read_session(store.engine) as session:
        return attachments.known_shape(session, battery_id, opened.table.header)


def stage_archive(store: Store, source: IO[bytes]) -> str:
    """Keep an archive as it comes in, piece by piece; returns the name it waits under."""
    path = waiting_path(store)
    try:
        with path.open("wb") as file:
            shutil.copyfileobj(source, file)
    except OSError as error:
        path.unlink(missing_ok=True)
        raise StorageError(
            say(
                "The archive could not be kept for the preview ({reason}). Nothing was stored.",
                reason=error.strerror,
            )
        ) from error
    return path.name


def staged_path(store: Store, name: str) -> Path:
    """Where a staged file lies. Raises InvalidInput where it is no longer there."""
    path = _waiting(store, name)
    if path is None:
        words = say("This is a preview that is no longer there. Choose the file once more.")
        raise InvalidInput.saying(words, "file")
    return path


def waiting_path(store: Store) -> Path:
    """A name in the folder of files that wait, which is cleared of old ones.

    Raises StorageError where that folder is gone or cannot be written to.
    """
    try:
        # A folder that was brought back from a backup may lack it.
        store.staging.mkdir(exist_ok=True)
        forget_old(store)
    except OSError as error:
        raise StorageError(
            say(
                "The folder of the data cannot be used ({reason}). Nothing was stored; check that "
                "it is still there and may be written to.",
                reason=error.strerror,
            )
        ) from error
    return store.staging / (_PREFIX + secrets.token_urlsafe(18))


def typed_source(rows: Sequence[Sequence[str]], *, fahrenheit: bool = False) -> Source:
    """Typed rows as a source. Raises InvalidInput naming every wrong cell."""
    read = read_typed(rows, fahrenheit=fahrenheit)
    return Source(read.readings, first_clock_s=read.first_clock_s)


def staged_bytes(store: Store, name: str) -> bytes:
    """The file as it came. Raises InvalidInput where it is no longer there."""
    return staged_path(store, name).read_bytes()


def staged_size(store: Store, name: str) -> int:
    """How many bytes a staged file has; none where it is no longer there."""
    try:
        return staged_path(store, name).stat().st_size
    except (InvalidInput, FileNotFoundError):
        return 0


def unpacks(file: IO[bytes]) -> bool:
    """Whether a file holds more than its length tells; its first bytes are read for it."""
    return is_packed(file.read(START_BYTES))


def staged_unpacks(store: Store, name: str) -> bool:
    """Whether a staged file holds more than its length tells; one that is gone holds nothing."""
    try:
        with staged_path(store, name).open("rb") as file:
            return unpacks(file)
    except (InvalidInput, FileNotFoundError):
        return False


def staged_text(store: Store, name: str) -> str:
    """A staged paste as text again, for the field it came from."""
    return decode(staged_bytes(store, name))[0]


def drop_staged(store: Store, name: str) -> None:
    """Forget a staged file once its test is stored."""
    path = _waiting(store, name)
    if path is not None:
        path.unlink(missing_ok=True)


def forget_old(store: Store) -> None:
    """Forget files that nobody came back for; whatever else lies there is left alone."""
    for found in store.staging.iterdir():
        path = _waiting(store, found.name)
        # Another server on the same folder may be quicker.
        with contextlib.suppress(FileNotFoundError):
            if path is not None and path.stat().st_mtime < time.time() - KEEP_S:
                path.unlink(missing_ok=True)


def _waiting(store: Store, name: str) -> Path | None:
    """Where a file waits, by its name and its kind; None for anything else, and for links."""
    path = store.staging / name
    ours = bool(_NAME.fullmatch(name)) and path.is_file() and not path.is_symlink()
    return path if ours else None
