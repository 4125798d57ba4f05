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
            "The clock was set back an hour before {where}; the times from there on were "
            "moved on by it.",
            where=where,
        )
    return say(
        "The clock was set forward before {where}, as it is in this machine's time "
        "zone; the times from there on were moved back by it.",
        where=where,
    )


def twice_said(count: int, line: int) -> str:
    """So many rows stood twice, the first of them in that line, and were read once."""
    return say_plural(
        "1 row that stands twice was read once (line {line}).",
        "{count} rows that stand twice were read once (line {line}).",
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
