"""What is said about a file: sentences the owner reads beside the preview."""

from collections.abc import Sequence

from app.domain.column import ColumnUse
from app.domain.saying import say


def uses_said(header: Sequence[str], uses: tuple[ColumnUse, ...], at: dict[str, int]) -> list[str]:
    """What each used column was taken for, in words."""
    return [
        say(
            "“{value}” is {label}.",
            value=header[index] or f"column {index + 1}",
            label=uses[index].label,
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
    stand = "stands" if count == 1 else "stand"
    return say(
        "{counted} that {stand} twice {were} read once (line {line}).",
        counted=counted(count, "row"),
        stand=stand,
        were=were(count),
        line=line,
    )


def counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def were(count: int) -> str:
    return "was" if count == 1 else "were"
