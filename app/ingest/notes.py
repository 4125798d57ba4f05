"""What is said about a file: sentences the owner reads beside the preview."""

from collections.abc import Sequence

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say, say_plural
from app.domain.units.column import ColumnUse

_ROLES = {
    "time": N_("time"),
    "date": N_("date"),
    "current": N_("current"),
    "voltage": N_("voltage"),
    "temperature": N_("temperature"),
    "gauge": N_("gauge"),
    "power": N_("power"),
    "count": N_("count"),
    "energy": N_("energy"),
    "channel": N_("channel"),
}


def uses_said(header: Sequence[str], uses: tuple[ColumnUse, ...], at: dict[str, int]) -> list[str]:
    """What each used column was taken for, in words."""
    return [
        say(
            "“{heading}” is {use}.",
            heading=header[index] or say("column {number}", number=index + 1),
            use=uses[index].label,
        )
        for index in at.values()
    ]


def clock_change_said(where: str, way: str) -> str:
    """What was done about a clock that was set back or forward."""
    if way == "back":
        return say(
            "Before {where} the clock was set back an hour; Fadeline moved all later times on by "
            "that hour.",
            where=where,
        )
    return say(
        "Before {where} the clock was set forward, as it is in this machine's time zone; "
        "Fadeline moved all later times back by as much.",
        where=where,
    )


def twice_said(count: int, line: int) -> str:
    """So many rows stood twice, the first of them in that line, and were read once."""
    return say_plural(
        "1 row that appears twice was read once (line {line}).",
        "{count} rows that appear twice were read once (line {line}).",
        count,
        line=line,
    )


def role_said(role: str) -> str:
    """What a column is called in a sentence, by its role."""
    return say(_ROLES[role])


def cell_said(place: str, number: int, role: str) -> str:
    """Where a cell stands; place is row for what was typed, else line."""
    if place == "row":
        return say("row {number}, {column}", number=number, column=role_said(role))
    return say("line {number}, {column}", number=number, column=role_said(role))


def row_said(place: str, number: int) -> str:
    """Which row it is; place as for a cell."""
    if place == "row":
        return say("row {number}", number=number)
    return say("line {number}", number=number)


def wild_said(cell: str, lines: Sequence[int]) -> str:
    """Rows that were left out because their times lie far from all others."""
    return say_plural(
        "1 row was left out whose time “{time}” lies far from all others (line {lines}).",
        "{count} rows were left out whose times, such as “{time}”, lie far from all others "
        "(line {lines}).",
        len(lines),
        time=cell,
        lines=", ".join(map(str, lines[:5])) + (" …" if len(lines) > 5 else ""),
    )


def newest_first_said() -> str:
    """The record was turned round."""
    return say("The newest row comes first, so Fadeline read the rows from the end.")


def shared_said(count: int, line: int) -> str:
    """Rows whose clock shows the same as in the row before."""
    return say_plural(
        "1 row shares its time with the row before (line {line}); both were kept, within the "
        "smallest step the clock shows.",
        "{count} rows share their time with the row before (first in line {line}); all were kept, "
        "within the smallest step the clock shows.",
        count,
        line=line,
    )


def headings_said(count: int, line: int) -> str:
    """The heading stands among the rows once more."""
    if count == 1:
        return say(
            "The heading appears once more among the rows (line {line}); Fadeline skipped it.",
            line=line,
        )
    return say(
        "The heading appears {count} times more among the rows (first in line {line}); Fadeline "
        "skipped it.",
        count=count,
        line=line,
    )
