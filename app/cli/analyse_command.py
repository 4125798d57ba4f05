"""The command that analyses files: its options, and which wrong ones are wrong usage."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from app.cli.number_option import number_option
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind, typical
from app.domain.quantity import (
    CUT_OFF_VOLTAGE,
    ENDED_AFTER,
    NOMINAL_VOLTAGE,
    RATED_CAPACITY,
    RATED_HOURS,
)
from app.domain.units.column import ColumnUse
from app.server.terminal import echo

_ALL = "all"


class Ended(StrEnum):
    """Why the discharge ended, as it is typed."""

    PROTECTION = "protection"
    CUT_OFF = "cut-off"
    GAUGE = "gauge"
    STOPPED = "stopped"
    LOAD = "load"
    UNKNOWN = "unknown"

    @property
    def reason(self) -> EndReason:
        return {
            Ended.PROTECTION: EndReason.PROTECTION,
            Ended.CUT_OFF: EndReason.CUT_OFF_VOLTAGE,
            Ended.GAUGE: EndReason.GAUGE_RESERVE,
            Ended.STOPPED: EndReason.TIME,
            Ended.LOAD: EndReason.LOAD,
            Ended.UNKNOWN: EndReason.UNKNOWN,
        }[self]


class Charged(StrEnum):
    """How full the battery was, as it is typed."""

    FULL_RESTED = "full-rested"
    FULL = "full"
    NOT_FULL = "not-full"
    UNKNOWN = "unknown"

    @property
    def condition(self) -> ChargeCondition:
        return ChargeCondition(self.value.replace("-", "_"))


class TimeUnit(StrEnum):
    """The unit of a column of times, as it is typed."""

    SECONDS = "s"
    MINUTES = "min"
    HOURS = "h"

    @property
    def use(self) -> ColumnUse:
        return ColumnUse(f"elapsed_{self.value}")


def _battery(
    chemistry: Chemistry | None,
    nominal_v: float | None,
    rated_ah: float | None,
    rated_hours: float | None,
) -> BatteryDetails | None:
    """What the label says; None without a word of it. Half a label is wrong usage."""
    if chemistry is None and nominal_v is None and rated_hours is None:
        return None
    if chemistry is None or nominal_v is None or rated_ah is None:
        raise typer.BadParameter(
            "--chemistry, --nominal-v and --rated-hours need one another: give --rated-ah, "
            "--chemistry and --nominal-v; --rated-hours where the label says it."
        )
    return BatteryDetails("", chemistry, nominal_v, rated_ah, rated_hours)


def _discharge_number(typed: str | None) -> int | None:
    """The number behind --discharge; None for all of them, and where it is not given."""
    if typed in (None, _ALL):
        return None
    if not (typed.isascii() and typed.isdigit() and int(typed)):
        raise typer.BadParameter(
            f"--discharge: “{typed}” does not fit. It needs its number from 1, or all."
        )
    return int(typed)


def analyse(
    files: Annotated[list[Path], typer.Argument(help="Readings of one discharge each.")],
    rated_ah: Annotated[
        float | None, number_option(RATED_CAPACITY, "Rated capacity in Ah.")
    ] = None,
    chemistry: Annotated[
        Chemistry | None,
        typer.Option(help="Chemistry; with the nominal voltage, results are corrected to 25 °C."),
    ] = None,
    nominal_v: Annotated[
        float | None, number_option(NOMINAL_VOLTAGE, "Nominal voltage in V.")
    ] = None,
    rated_hours: Annotated[
        float | None,
        number_option(RATED_HOURS, "Hour rate of the rated capacity, such as 20.", "H"),
    ] = None,
    cut_off_v: Annotated[
        float | None,
        number_option(CUT_OFF_VOLTAGE, "Voltage at which the battery counts as empty."),
    ] = None,
    ended: Annotated[
        Ended,
        typer.Option(help="Why the discharge ended; “stopped” means by the clock or by hand."),
    ] = Ended.UNKNOWN,
    ended_after: Annotated[
        float | None, number_option(ENDED_AFTER, "Hours from the first reading to the end.", "H")
    ] = None,
    charge: Annotated[
        Charged | None, typer.Option(help="How full the battery was at the start. Default: full.")
    ] = None,
    meter: Annotated[
        MeterKind | None, typer.Option(help="Meter that measured the current. Default: shunt.")
    ] = None,
    time_unit: Annotated[
        TimeUnit | None, typer.Option(help="Unit of the times, if they are plain numbers.")
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            metavar="USE=HEADING",
            help="Use of a column, such as current_ma=Load; the number of the column works, too.",
        ),
    ] = None,
    channel: Annotated[
        str | None, typer.Option(help="Battery or channel, if a file holds several.")
    ] = None,
    sheet: Annotated[
        str | None,
        typer.Option(help="Sheet of a workbook, or file in a ZIP, if several fit."),
    ] = None,
    discharge: Annotated[
        str | None,
        typer.Option(
            metavar="N", help="Number of the discharge, if a file holds several; or “all”."
        ),
    ] = None,
    meant: Annotated[
        bool, typer.Option("--meant", help="Accept unlikely numbers as entered.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print a JSON array.")] = False,
) -> None:
    """Count the amp-hours of each discharge and say what they prove."""
    from app.cli.analysis_output import Given, analysis_records, analysis_text
    from app.cli.file_options import ColumnOptions, MeantPart
    from app.cli.output import each_named, print_json

    battery = _battery(chemistry, nominal_v, rated_ah, rated_hours)
    part = MeantPart(sheet, channel, _discharge_number(discharge), discharge == _ALL)
    columns = ColumnOptions.of(column or (), None if time_unit is None else time_unit.use, part)
    given = Given(
        columns=columns,
        battery=battery,
        rated_ah=rated_ah,
        cut_off_v=cut_off_v,
        end_reason=ended.reason,
        ended_after_h=ended_after,
        charge=None if charge is None else charge.condition,
        meter=None if meter is None else typical(meter),
        meant=meant,
    )
    found, failed = each_named(files, str, "Analysing", lambda file: analysis_records(file, given))
    records = [record for of_file in found for record in of_file]
    if as_json:
        print_json(records)
    else:
        for record in records:
            echo(analysis_text(record))
    if failed:
        raise typer.Exit(1)
