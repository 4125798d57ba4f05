"""The command line: serve, analyse, project, feed, and the care of the records."""

import gc
import os
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from app.cli.analyse_command import analyse
from app.cli.failing import failing_in_one_sentence
from app.cli.import_command import DataFolder, import_tests
from app.cli.number_option import number_option
from app.domain.quantity import END_OF_LIFE_SHARE
from app.server.log_setup import LogLevel
from app.server.terminal import echo

app = typer.Typer(
    name="fadeline",
    help="Keep battery capacity tests, see the fade, project the end of life.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    # Plain errors: one sentence, no boxes.
    rich_markup_mode=None,
)


def main() -> None:
    # What is made here, records and backups alike, is for its owner's eyes.
    os.umask(0o077)
    # Looking for waste at every 700 new things, which is usual, takes a fifth of the start.
    gc.set_threshold(50_000)
    app()


@app.command()
def serve(
    demo: Annotated[
        bool, typer.Option("--demo", help="Serve invented data, gone when Fadeline stops.")
    ] = False,
    host: Annotated[
        str,
        typer.Option(
            help="Address to listen on; 0.0.0.0 lets other devices in after they sign in."
        ),
    ] = "127.0.0.1",
    public_address: Annotated[
        str,
        typer.Option(
            envvar="FADELINE_PUBLIC_ADDRESS",
            help="Public address at a reverse proxy (https://club.example); everybody signs in.",
        ),
    ] = "",
    log_level: Annotated[
        LogLevel, typer.Option(help="Level of the log; info adds one line a request.")
    ] = LogLevel.INFO,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8765,
    data: DataFolder = None,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Do not open the browser.")
    ] = False,
) -> None:
    """Serve the pages on this machine."""
    # Modules are made to stay: while they load nobody looks for waste, and never among them.
    gc.disable()
    from app.server.run import check_public_address, run_server
    from app.server.store_context import settings_for

    gc.freeze()
    gc.enable()
    with failing_in_one_sentence():
        settings = replace(
            settings_for(data),
            demo=demo,
            host=host,
            port=port,
            public_address=check_public_address(public_address),
        )
        run_server(settings, open_browser=not no_browser, log_level=log_level)


app.command()(analyse)
app.command("import")(import_tests)


@app.command()
def forecast(
    file: Annotated[
        Path,
        typer.Argument(help="battery,date,capacity_ah[,standard_uncertainty_ah][,kind]"),
    ],
    end_of_life: Annotated[
        float,
        number_option(
            END_OF_LIFE_SHARE, "End of life, as a share of the fitted capacity at the first test."
        ),
    ] = 0.8,
    as_json: Annotated[bool, typer.Option("--json", help="Print a JSON array.")] = False,
) -> None:
    """Project the end of life of every battery in a table of tests."""
    from app.cli.output import each_named, print_json
    from app.cli.projection_output import projection_record, projection_text, read_history_file

    with failing_in_one_sentence():
        history = read_history_file(file)
    records, failed = each_named(
        list(history.items()),
        lambda item: item[0],
        "Projecting",
        lambda item: projection_record(item[0], item[1], end_of_life),
    )
    if as_json:
        print_json(records)
    else:
        for record in records:
            echo(projection_text(record))
    if failed:
        raise typer.Exit(1)


@app.command()
def feed(
    run: Annotated[
        str, typer.Argument(help="Address of the running test, such as http://…/runs/3")
    ],
    file: Annotated[str, typer.Argument(help="A log with dated times, or - for standard input.")],
    word: Annotated[
        str,
        typer.Option(envvar="FADELINE_FEED", help="The word from the page of the running test."),
    ],
    follow: Annotated[bool, typer.Option("--follow", help="Wait for more lines.")] = False,
) -> None:
    """Send readings into a running test."""
    from app.cli.feed import address_of_feed, open_source, run_feed

    with failing_in_one_sentence(), open_source(file) as source:
        fed = run_feed(address_of_feed(run), word, source, follow=follow)
        refused = f", {fed.refused} refused" if fed.refused else ""
        lacking = f", {fed.lacking} lines without a value" if fed.lacking else ""
        echo(f"{fed.stored} readings stored{refused}{lacking}")
    if fed.refused:
        raise typer.Exit(1)


@app.command()
def passphrase(
    data: DataFolder = None,
    end_sessions: Annotated[
        bool, typer.Option("--end-sessions", help="Keep the passphrase, but sign every device out.")
    ] = False,
) -> None:
    """Set the owner's passphrase for other devices, and sign every device out."""
    from app.cli.maintenance import run_end_sessions, run_passphrase

    with failing_in_one_sentence():
        if end_sessions:
            run_end_sessions(data)
        else:
            run_passphrase(data)


@app.command()
def backup(
    to: Annotated[
        str,
        typer.Option(help="Folder for this backup. Default: the one chosen on the page Records."),
    ] = "",
    data: DataFolder = None,
) -> None:
    """Copy the data file, even while it is in use, and check the copy."""
    from app.cli.maintenance import run_backup

    with failing_in_one_sentence():
        run_backup(data, to)


@app.command()
def check(
    file: Annotated[
        Path | None, typer.Argument(help="Backup or ZIP to check. Default: the data file.")
    ] = None,
    data: DataFolder = None,
) -> None:
    """Check the whole data file, a backup or an exported ZIP for damage."""
    from app.cli.maintenance import run_check

    with failing_in_one_sentence():
        damaged = run_check(data, file)
    if damaged:
        raise typer.Exit(1)


@app.command()
def export(
    to: Annotated[
        Path | None, typer.Option(help="Name of the ZIP. Default: today's date, in this folder.")
    ] = None,
    data: DataFolder = None,
    without_links: Annotated[
        bool, typer.Option("--without-links", help="Leave out read-only links, which are secret.")
    ] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Overwrite a file of that name.")
    ] = False,
) -> None:
    """Write all records into one ZIP of open files: tables, readings, originals, photos."""
    from app.cli.archive_commands import export_archive

    with failing_in_one_sentence():
        echo(export_archive(to, data, with_links=not without_links, replace=replace))


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(help="A ZIP that fadeline export wrote, or a backup.")],
    data: DataFolder = None,
    merge: Annotated[
        bool, typer.Option("--merge", help="Add a ZIP to the present records.")
    ] = False,
    dry_run: Annotated[
        bool,
        typer.Option(
            "--dry-run", help="List the contents a ZIP would bring in and change nothing."
        ),
    ] = False,
    despite_damage: Annotated[
        bool,
        typer.Option("--despite-damage", help="Restore a backup even if it has damaged values."),
    ] = False,
) -> None:
    """Bring in an exported ZIP, or go back to a backup; the content decides which.

    A ZIP adds to the present records. A backup replaces them; they are backed up first. Stop the
    server before.
    """
    from app.cli.archive_commands import run_restore_archive
    from app.cli.maintenance import is_archive, run_restore
    from app.services.backups.restoring import check_kind

    with failing_in_one_sentence():
        if is_archive(file):
            _only_for("--despite-damage", despite_damage, "a backup")
            echo(run_restore_archive(file, data, merge=merge, dry_run=dry_run))
        else:
            check_kind(file)
            _only_for("--merge", merge, "a ZIP")
            _only_for("--dry-run", dry_run, "a ZIP")
            run_restore(data, file, despite_damage=despite_damage)


def _only_for(option: str, given: bool, what: str) -> None:
    """An option that says nothing about this kind of file is wrong usage."""
    if given:
        raise typer.BadParameter(f"{option} is for {what}.")
