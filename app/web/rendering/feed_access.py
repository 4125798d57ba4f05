"""What a device needs to feed a running test, as commands that work as they stand."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime

from fastapi import Request

from app.web.rendering.reachability import address_for_others
from app.web.rendering.rendering import now_of

# Stands where no reading was noted yet; whoever copies the line puts in an own one.
EXAMPLE_A = 9.0


@dataclass(frozen=True)
class FeedAccess:
    """The word of a feed, the line for curl and the line for a pipe. The line for curl sends
    current_a, measured at sent_at."""

    word: str
    curl: str
    pipe: str
    current_a: float
    sent_at: datetime


def feed_access(
    request: Request, run_id: str, word: str, current_a: float = EXAMPLE_A
) -> FeedAccess:
    """By the address that another device reaches, with the present moment as that of the reading.

    A command that asks the clock would differ from system to system; a moment is one everywhere.
    """
    sent_at = now_of(request).astimezone(UTC).replace(microsecond=0)
    reading = {"at": sent_at.isoformat().replace("+00:00", "Z"), "current_a": current_a}
    return FeedAccess(
        word=word,
        curl=curl_line(
            address_for_others(request, "feed_run", run_id=run_id), word, {"readings": [reading]}
        ),
        pipe=f"program | fadeline feed {address_for_others(request, 'run', run_id=run_id)} - "
        f"--word {word}",
        current_a=current_a,
        sent_at=sent_at,
    )


def curl_line(address: str, word: str, body: object) -> str:
    """One line that sends a body as JSON.

    In double quotes, which a POSIX shell and the command prompt of Windows read alike.
    """
    text = json.dumps(body).replace("\\", "\\\\").replace('"', '\\"')
    return (
        f'curl -H "Authorization: Bearer {word}" -H "Content-Type: application/json" '
        f'-d "{text}" {address}'
    )
