"""Sending readings from a file or standard input into a running test."""

import json
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

import typer

from app.domain.errors import FadelineError, Refused
from app.ingest.columns import guess_uses
from app.ingest.feed_line import FeedLines

BATCH = 500
WAIT_S = 1.0


def run_feed(address: str, word: str, source: IO[str], *, follow: bool) -> int:
    """Send every line of the source; returns how many readings were stored. Raises FadelineError.

    With follow the source is watched for more until it is interrupted.
    """
    lines = FeedLines(guess_uses)
    stored = 0
    for batch in _batches(source, follow):
        readings = lines.readings(batch, datetime.now(UTC))
        if readings:
            stored += _send(address, word, readings)
    return stored


def open_source(name: str) -> IO[str]:
    """A file, or standard input for a dash. Raises Refused."""
    if name == "-":
        return typer.get_text_stream("stdin")
    try:
        return Path(name).open(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise Refused.because("file", name, f"a readable file ({error.strerror})") from error


def _batches(source: IO[str], follow: bool) -> Iterator[list[str]]:
    """Lines in bunches; a line that is not ended yet waits for its end."""
    held, batch = "", []
    while True:
        line = source.readline()
        if line and not line.endswith("\n") and follow:
            held += line
            continue
        if line:
            batch.append(held + line)
            held = ""
        if len(batch) >= BATCH or (batch and not line):
            yield batch
            batch = []
        if not line:
            if not follow:
                return
            time.sleep(WAIT_S)


def _send(address: str, word: str, readings: list[dict[str, Any]]) -> int:
    if not address.startswith(("http://", "https://")):
        raise Refused.because("address", address, "one that begins with http:// or https://")
    request = urllib.request.Request(  # noqa: S310
        address,
        data=json.dumps({"readings": readings}).encode(),
        headers={"Content-Type": "application/json", "Authorization": f"Bearer {word}"},
        method="POST",
    )
    try:
        with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
            taken: dict[str, int] = json.load(answer)
    except urllib.error.HTTPError as error:
        said = error.read().decode(errors="replace")[:500]
        raise FadelineError(f"The run took nothing of this batch: {said}") from error
    except OSError as error:
        raise FadelineError(f"No answer from {address}: {error}") from error
    return taken["stored"]
