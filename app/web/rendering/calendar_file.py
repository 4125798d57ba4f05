"""A calendar file after RFC 5545: a few events, each with a reminder."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from starlette.responses import Response

from app.domain.i18n.message import ENGLISH, Reader
from app.domain.legible import legible
from app.web.rendering.spreadsheet import as_download

# RFC 5545, 3.1: lines of at most 75 octets, folded with a space.
_MAX_LINE_OCTETS = 75


@dataclass(frozen=True)
class CalendarEvent:
    """One entry; start is aware. reminder_min is how long before it the calendar speaks up.

    key tells it from others that start with it, in whatever language its words are.
    """

    key: str
    summary: str
    description: str
    start: datetime
    duration: timedelta
    reminder_min: int = 0


def calendar_response(
    events: Sequence[CalendarEvent], name: str, now: datetime, reader: Reader
) -> Response:
    """The file as a download."""
    headers = as_download(f"{name}.ics")
    return Response(calendar_text(events, now, reader), media_type="text/calendar", headers=headers)


def calendar_text(events: Sequence[CalendarEvent], now: datetime, reader: Reader = ENGLISH) -> str:
    """All events as one VCALENDAR in its reader's language, times in UTC."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Fadeline//Capacity tests//EN"]
    for event in events:
        summary, description = reader.read(event.summary), reader.read(event.description)
        lines += [
            "BEGIN:VEVENT",
            f"UID:{_uid(event)}",
            f"DTSTAMP:{_utc(now)}",
            f"DTSTART:{_utc(event.start)}",
            f"DURATION:PT{round(event.duration.total_seconds() / 60)}M",
            f"SUMMARY:{_escaped(summary)}",
            f"DESCRIPTION:{_escaped(description)}",
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"DESCRIPTION:{_escaped(summary)}",
            f"TRIGGER:-PT{event.reminder_min}M",
            "END:VALARM",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def _uid(event: CalendarEvent) -> str:
    """The same event keeps its name, so that a second download replaces the first."""
    digest = hashlib.sha256(f"{event.key}|{_utc(event.start)}".encode()).hexdigest()
    return f"{digest[:32]}@fadeline"


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def _escaped(text: str) -> str:
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(plain, escaped)
    return "".join(character for character in legible(text) if character >= " ")


def _folded(line: str) -> str:
    """Fold after 75 octets without tearing a character apart."""
    parts: list[str] = []
    current = ""
    for character in line:
        room = _MAX_LINE_OCTETS if not parts else _MAX_LINE_OCTETS - 1
        if len((current + character).encode()) > room:
            parts.append(current)
            current = ""
        current += character
    return "\r\n ".join([*parts, current])
