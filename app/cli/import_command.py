"""The command that brings a table of past tests into the records."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from app.cli.analyse_command import Charged, Ended
from app.cli.failing import failing_in_one_sentence
from app.cli.number_option import number_option
from app.domain.past_tests.answers import KEEP, ONCE
from app.domain.quantity import MEAN_VOLTAGE
from app.domain.units.column import DayOrder
from app.server.terminal import echo


class Dates(StrEnum):
    """The order of day and month, as it is typed."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"

    @property
    def order(self) -> DayOrder:
        return DayOrder(self.value.replace("-", "_"))


class Points(StrEnum):
    """What a point between digits means beside decimal commas, as the command line calls it."""

    THOUSANDS = "thousands"
    DECIMALS = "decimals"


class Twice(StrEnum):
    """What rows of one day with one result are, as it is typed."""

    KEEP = KEEP
    ONCE = ONCE


DataFolder = Annotated[
    Path | None,
    typer.Option(
        "--data",
        help="Folder whose data file is used. Default: the database of FADELINE_DATABASE_URL; "
        "else FADELINE_DATA, else the user's own folder.",
    ),
]


def import_tests(
    file: Annotated[Path, typer.Argument(help="A table of past tests, one row a test.")],
    battery: Annotated[str, typer.Option(help="Name of the battery, or its number.")],
    sheet: Annotated[
        str | None,
        typer.Option(help="Sheet of a workbook, or file in a ZIP, if several fit."),
    ] = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Show each row as a test and store nothing.")
    ] = False,
    charge: Annotated[
        Charged | None,
        typer.Option(help="How full the battery was at the start, for rows that do not say."),
    ] = None,
    ended: Annotated[
        Ended | None, typer.Option(help="Why the test ended, for rows that do not say.")
    ] = None,
    meter: Annotated[
        str | None,
        typer.Option(help="Meter used: one of yours by its name, or a kind such as shunt."),
    ] = None,
    day_order: Annotated[
        Dates | None, typer.Option(help="Order of day and month in 3/4/2024, if no row shows it.")
    ] = None,
    mean_voltage: Annotated[
        float | None,
        number_option(MEAN_VOLTAGE, "Mean voltage, if the table has only watt-hours.", "V"),
    ] = None,
    mid_month: Annotated[
        bool, typer.Option("--mid-month", help="Take the 15th for a month without a day.")
    ] = False,
    twice: Annotated[
        Twice | None,
        typer.Option(help="Rows with the same day and result: keep them, or take one."),
    ] = None,
    points: Annotated[
        Points | None,
        typer.Option(help="Meaning of 1.234 in a column with decimal commas."),
    ] = None,
    channel: Annotated[
        str | None, typer.Option(help="Battery in the table, if it names several.")
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            metavar="USE=HEADING",
            help="Use of a column, such as capacity_ah=Result; its number works, too.",
        ),
    ] = None,
    word: Annotated[
        list[str] | None,
        typer.Option(metavar="WORD=MEANING", help="Meaning of a word, such as beeper=load."),
    ] = None,
    meant: Annotated[
        bool, typer.Option("--meant", help="Accept unlikely numbers as entered.")
    ] = False,
    data: DataFolder = None,
) -> None:
    """Store every row of a table as a capacity test of a battery, or none of them."""
    from app.cli.import_output import Asked, run_import

    asked = Asked(
        battery=battery,
        sheet=sheet,
        charge=None if charge is None else charge.condition,
        end=None if ended is None else ended.reason,
        meter=meter,
        day_order=None if day_order is None else day_order.order,
        mean_voltage_v=mean_voltage,
        mid_month=mid_month,
        twice="" if twice is None else twice.value,
        points="" if points is None else points.value,
        channel=channel,
        columns=tuple(column or ()),
        words=tuple(word or ()),
        meant=meant,
    )
    with failing_in_one_sentence():
        for line in run_import(file, asked, data, dry_run=dry_run):
            echo(line)
