"""Records on the command line: out into one archive, and back."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from app.cli.progress_line import ProgressLine
from app.domain.errors import InvalidInput
from app.domain.records.merge_report import MergeReport
from app.server.store_context import opened, say_which, settings_for
from app.server.terminal import echo
from app.services.exchange.records_archive import (
    check_archive,
    export_records,
    holds_records,
    look_at_archive,
    restore_records,
)
from app.services.store import Store


def export_archive(
    to: Path | None, data_dir: Path | None, *, with_links: bool = True, replace: bool = False
) -> str:
    """Write the archive; returns one sentence about it. Raises InvalidInput and StorageError."""
    settings = settings_for(data_dir)
    if not settings.may_hold_records:
        raise InvalidInput.because("data folder", settings.data_dir, "one with records in it")
    say_which(settings)
    target = to or Path(f"fadeline-{date.today()}.zip")
    with opened(settings) as store, ProgressLine() as progress:
        made = export_records(
            store, target, with_links=with_links, replace=replace, progress=progress
        )
    return f"{made.path}: {made.entries} files, {made.size:,} bytes"


def run_restore_archive(path: Path, data_dir: Path | None, *, merge: bool, dry_run: bool) -> str:
    """Bring an archive in and say what came of it. Raises InvalidInput and StorageError.

    Where there are records already and nobody said to merge, what would come in is said as well.
    """
    say_which(settings_for(data_dir))
    would_mix = not merge and holds_anything(data_dir)
    if dry_run or would_mix:
        echo(report_text(look_at_file(path, data_dir), happened=False))
    if dry_run:
        return "Nothing was changed."
    if would_mix:
        raise InvalidInput.saying(
            "There are records already. --merge adds the archive to them; they stay as they are."
        )
    return report_text(restore_archive(path, data_dir, merge), happened=True)


def holds_anything(data_dir: Path | None) -> bool:
    """Whether the data folder has records already."""
    settings = settings_for(data_dir)
    if not settings.may_hold_records:
        return False
    with opened(settings) as store:
        return holds_records(store)


def look_at_file(path: Path, data_dir: Path | None) -> MergeReport:
    """What restoring this archive would come to. Raises InvalidInput and StorageError."""
    with _opened_for(path, data_dir) as store, ProgressLine() as progress:
        return look_at_archive(store, path, progress)


def restore_archive(path: Path, data_dir: Path | None, merge: bool) -> MergeReport:
    """Bring an archive back, all of it or nothing. Raises InvalidInput and StorageError."""
    with _opened_for(path, data_dir) as store, ProgressLine() as progress:
        return restore_records(store, path, merge=merge, progress=progress)


def report_text(report: MergeReport, *, happened: bool) -> str:
    """A merge in lines for the terminal: counts, then every conflict."""
    did = "added" if happened else "would be added"
    head = f"{'':<28}{'new':>9}{'there':>9}{'differs':>9}{'left out':>9}"
    lines = [head]
    lines += [
        f"{one.title:<28}{one.new:>9}{one.same:>9}{one.differing:>9}{one.left_out:>9}"
        for one in report.counts
        if one.total
    ]
    lines += [f"  {sentence}" for sentence in report.changed]
    lines += [f"  {conflict.sentence}" for conflict in report.conflicts]
    lines.append(f"{report.new} rows {did}; nothing that was there is changed.")
    return "\n".join(lines)


@contextmanager
def _opened_for(path: Path, data_dir: Path | None) -> Iterator[Store]:
    """The data folder, which is not made for an archive that is no good."""
    settings = settings_for(data_dir)
    if not settings.may_hold_records:
        check_archive(path)
    with opened(settings) as store:
        yield store
