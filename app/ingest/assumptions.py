"""What is said about a file: sentences the owner reads beside the preview."""

from collections.abc import Sequence

from app.domain.column import ColumnUse


def uses_said(header: Sequence[str], uses: tuple[ColumnUse, ...], at: dict[str, int]) -> list[str]:
    """What each used column was taken for, in words."""
    return [
        f"“{header[index] or f'column {index + 1}'}” is {uses[index].label}."
        for index in at.values()
    ]


def clock_change_said(where: str, way: str) -> str:
    """What was done about a clock that was set back or forward."""
    if way == "back":
        return (
            f"The clock was set back an hour before {where}; the times from there on were moved on "
            "by it."
        )
    return (
        f"The clock was set forward before {where}, as it is in this machine's time zone; the "
        "times from there on were moved back by it."
    )


def twice_said(count: int, line: int) -> str:
    stand = "stands" if count == 1 else "stand"
    return f"{counted(count, 'row')} that {stand} twice {were(count)} read once (line {line})."


def counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def were(count: int) -> str:
    return "was" if count == 1 else "were"
