"""The care of the data file from the command line: back up, check, restore."""

import sys
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

import typer

from app.domain.errors import FadelineError, InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.integrity_issue import IntegrityIssue
from app.server.store_context import opened, say_which, settings_for
from app.server.terminal import echo
from app.services.access import auth
from app.services.backups.backups import ON_SERVER, back_up, back_up_to
from app.services.backups.data_check import check_file, for_backup
from app.services.backups.restoring import Kept, restore_backup
from app.services.exchange.records_archive import check_archive
from app.settings import MIGRATIONS
from app.storage.database.engine import make_engine, shown_address
from app.storage.database.migrations import Standing

# The first bytes of a ZIP file (APPNOTE 4.3.7), which an archive of records is.
ZIP_SIGNATURE = b"PK\x03\x04"
MAX_SHOWN = 100
CHECK_ON_SERVER = N_(
    "The records are in a PostgreSQL database. Check its pages with “pg_amcheck”; “fadeline "
    "export” reads every row, reading and file and names the damaged ones. To check a data file "
    "or a backup, name it."
)
RESTORE_ON_SERVER = N_(
    "A backup of a data file cannot take the place of a PostgreSQL database. Restore it into a "
    "new folder (--data FOLDER) and export that (--data FOLDER, too); then restore the ZIP "
    "without --data."
)


def run_backup(data_dir: Path | None, to: str) -> None:
    """Back up and say where to. Raises FadelineError where no backup was made."""
    settings = settings_for(data_dir)
    if settings.database_url:
        raise FadelineError(say(ON_SERVER))
    database = settings.database
    if not database.is_file():
        raise InvalidInput.because("data folder", database.parent, "one with a data file in it")
    engine = make_engine(database)
    try:
        now = datetime.now(UTC)
        outcome = back_up_to(engine, to, now) if to else back_up(engine, now)
    finally:
        engine.dispose()
    if outcome.path is None:
        raise FadelineError(outcome.trouble)
    if outcome.trouble:
        echo(f"fadeline: {outcome.trouble}", err=True)
    size = outcome.path.stat().st_size
    echo(f"Backed up and checked: {outcome.path} ({size / 1e6:.1f} MB)")


def run_check(data_dir: Path | None, file: Path | None) -> bool:
    """Check and say what was found; whether anything is damaged. Raises FadelineError."""
    settings = settings_for(data_dir)
    if file is None and settings.database_url:
        raise FadelineError(say(CHECK_ON_SERVER))
    if file is not None and is_archive(file):
        check_archive(file)
        echo(f"Checked {file}: every file in this ZIP is as it was exported.")
        echo("“fadeline restore FILE --dry-run” lists what it would bring in.")
        return False
    # A file of that name is one that some Fadeline runs on, in this data folder or in another.
    is_backup = file is not None and file.name != settings.database.name
    checked = check_file(file or settings.database, MIGRATIONS)
    if is_backup and checked.standing is None and checked.path.suffix != settings.database.suffix:
        raise InvalidInput.because(
            "file", checked.path, "a data file, a backup or a ZIP of records"
        )
    if is_backup:
        checked = for_backup(checked)
    _say_damages(checked.damages)
    looked = ", ".join(f"{table} {count}" for table, count in checked.rows.items() if count)
    echo(f"Checked {checked.path}" + (f", rows: {looked}." if looked else "."))
    if checked.standing is Standing.OLDER:
        when = "restored" if is_backup else "opened the next time"
        echo(f"It is of an older Fadeline and is updated when it is {when}.")
    if not checked.damages:
        echo("Nothing is damaged.")
    return bool(checked.damages)


def run_restore(data_dir: Path | None, file: Path, *, despite_damage: bool) -> None:
    """Go back to a backup and say so. Raises FadelineError."""
    settings = settings_for(data_dir)
    if settings.database_url:
        raise FadelineError(say(RESTORE_ON_SERVER))
    say_which(settings)
    database = settings.database
    done = restore_backup(
        database, MIGRATIONS, file, datetime.now(UTC), despite_damage=despite_damage
    )
    echo(
        f"Restored {file} to {database}. With those in the bin it holds batteries: "
        f"{done.rows.get('battery', 0)}, capacity tests: {done.rows.get('discharge', 0)}."
    )
    if done.updated:
        echo("It was of an older Fadeline and was updated.")
    if done.kept is not None:
        echo(_said_of(done.kept))


def _said_of(kept: Kept) -> str:
    if not kept.sound:
        return f"The data file of before is damaged; it lies as it was in {kept.path}."
    trouble = kept.outcome.trouble if kept.outcome is not None else ""
    return " ".join(filter(None, [f"The data file of before lies in {kept.path}.", trouble]))


def _say_damages(damages: Iterable[IntegrityIssue]) -> None:
    """Each with what to do, which is not said twice in a row."""
    said = list(damages)
    todo = ""
    for damage in said[:MAX_SHOWN]:
        if todo and damage.todo != todo:
            echo(f"  What to do: {todo}.")
        todo = damage.todo
        echo(f"- {damage.sentence}")
    if todo:
        echo(f"  What to do: {todo}.")
    if len(said) > MAX_SHOWN:
        echo(f"- and {len(said) - MAX_SHOWN} more.")


def is_archive(file: Path) -> bool:
    """Whether a file is a ZIP, by its first bytes."""
    try:
        with file.open("rb") as opened:
            return opened.read(len(ZIP_SIGNATURE)) == ZIP_SIGNATURE
    except OSError:
        # What is wrong with it is said by what reads it.
        return False


def run_passphrase(data_dir: Path | None) -> None:
    """Ask for the passphrase, twice where somebody types, and set it. Raises FadelineError."""
    # A redirected input is a script's, which gives it as one line.
    typed = sys.stdin.isatty()
    given = (
        typer.prompt("New passphrase", hide_input=True, confirmation_prompt="The same once more")
        if typed
        else sys.stdin.readline().rstrip("\r\n")
    )
    settings = settings_for(data_dir)
    with opened(settings) as store:
        auth.set_passphrase(store, given)
    # Where the address of a database was forgotten, this is the line that shows it.
    where = shown_address(settings.address)
    echo(f"The passphrase of {where} is set; every device has to sign in again.")


def run_end_sessions(data_dir: Path | None) -> None:
    """Sign every device out. Raises FadelineError."""
    settings = settings_for(data_dir)
    with opened(settings) as store:
        auth.end_all_sessions(store)
    echo(f"Every device of {shown_address(settings.address)} is signed out.")
