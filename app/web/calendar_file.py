"""A calendar file after RFC 5545: a few events, each with a reminder."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from starlette.responses import Response

from app.domain.saying import say

# RFC 5545, 3.1: lines of at most 75 octets, folded with a space.
_LONGEST = 75


@dataclass(frozen=True)
class CalendarEvent:
    """One entry; start is aware. reminder_min is how long before it the calendar speaks up."""

    summary: str
    description: str
    start: datetime
    duration: timedelta
    reminder_min: int = 0


def calendar_response(events: Sequence[CalendarEvent], name: str, now: datetime) -> Response:
    """The file as a download."""
    headers = {"Content-Disposition": say('attachment; filename="{name}.ics"', name=name)}
    return Response(calendar_text(events, now), media_type="text/calendar", headers=headers)


def calendar_text(events: Sequence[CalendarEvent], now: datetime) -> str:
    """All events as one VCALENDAR, times in UTC."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", say("PRODID:-//Fadeline//Capacity tests//EN")]
    for event in events:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{_uid(event)}",
            f"DTSTAMP:{_utc(now)}",
            f"DTSTART:{_utc(event.start)}",
            f"DURATION:PT{round(event.duration.total_seconds() / 60)}M",
            f"SUMMARY:{_escaped(event.summary)}",
            f"DESCRIPTION:{_escaped(event.description)}",
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"DESCRIPTION:{_escaped(event.summary)}",
            f"TRIGGER:-PT{event.reminder_min}M",
            "END:VALARM",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def _uid(event: CalendarEvent) -> str:
    """The same event keeps its name, so that a second download replaces the first."""
    digest = hashlib.sha256(f"{event.summary}|{_utc(event.start)}".encode()).hexdigest()
    return f"{digest[:32]}@fadeline"


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def _escaped(text: str) -> str:
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(plain, escaped)
    return "".join(character for character in text if character >= " ")


def _folded(line: str) -> str:
    """Fold after 75 octets without tearing a character apart."""
    parts: list[str] = []
    current = ""
    for character in line:
        room = _LONGEST if not parts else _LONGEST - 1
        if len((current + character).encode()) > room:
            parts.append(current)
            current = ""
        current += character
    return "\r\n ".join([*parts, current])
