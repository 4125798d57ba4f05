"""Sending readings from a file or standard input into a running test."""

import json
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from datetime import UTC, datetime
from http.client import HTTPException
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from typing import IO, Any

import typer

from app.domain.errors import FadelineError, Refused, shorten
from app.ingest.columns import guess_uses
from app.ingest.feed_line import FeedLines

BATCH = 500
WAIT_S = 1.0
LONGEST_WAIT_S = 60.0


class NoAnswer(FadelineError):
    """The server is away."""


def run_feed(address: str, word: str, source: IO[str], *, follow: bool) -> int:
    """Send every line of the source; returns how many readings were stored. Raises FadelineError.

    With follow the source is watched for more until it is interrupted.
    """
    lines = FeedLines(guess_uses)
    stored = 0
    for batch in _batches(source, follow):
        readings = lines.readings(batch, datetime.now(UTC))
        if readings:
            stored += (
                _send_on(address, word, readings) if follow else _send(address, word, readings)
            )
    return stored


def _send_on(address: str, word: str, readings: list[dict[str, Any]]) -> int:
    """Send, and try again while the server is away: the same reading twice is stored once."""
    wait_s = WAIT_S
    while True:
        try:
            return _send(address, word, readings)
        except NoAnswer as error:
            typer.echo(f"{error} Trying again in {wait_s:g} s.", err=True)
            time.sleep(wait_s)
            wait_s = min(2 * wait_s, LONGEST_WAIT_S)


def open_source(name: str) -> IO[str]:
    """A file, or standard input for a dash. Raises Refused."""
    if name == "-":
        return typer.get_text_stream("stdin")
    try:
        return Path(name).open(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise Refused.because("file", name, f"a readable file ({error.strerror})") from error


def _batches(source: IO[str], follow: bool) -> Iterator[list[str]]:
    """Lines in bunches; one that is not full is sent when no line came for a second.

    Reading waits in a thread of its own: a pipe whose device writes a line an hour gives none
    back before the next.
    """
    lines: SimpleQueue[str | None] = SimpleQueue()
    Thread(target=_read, args=(source, follow, lines), daemon=True).start()
    batch: list[str] = []
    while True:
        try:
            line = lines.get(timeout=WAIT_S if batch else None)
        except Empty:
            line = ""
        if line:
            batch.append(line)
        if batch and (not line or len(batch) >= BATCH):
            yield batch
            batch = []
        if line is None:
            return


def _read(source: IO[str], follow: bool, lines: "SimpleQueue[str | None]") -> None:
    """Put every whole line into the queue, and None at the end of the source."""
    held = ""
    while True:
        line = source.readline()
        if not line and not follow:
            break
        held += line
        if held and (held.endswith("\n") or not follow):
            lines.put(held)
            held = ""
        if not line:
            time.sleep(WAIT_S)
    lines.put(None)


def _send(address: str, word: str, readings: list[dict[str, Any]]) -> int:
    if not address.startswith(("http://", "https://")):
        raise Refused.because("address", address, "one that begins with http:// or https://")
    try:
        request = urllib.request.Request(  # noqa: S310
            address,
            data=json.dumps({"readings": readings}).encode(),
            headers={"Content-Type": "application/json", "Authorization": f"Bearer {word}"},
            method="POST",
        )
        with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
            taken: dict[str, int] = json.load(answer)
    except urllib.error.HTTPError as error:
        said = error.read().decode(errors="replace")[:500]
        raise FadelineError(f"The run took nothing of this batch: {said}") from error
    except OSError as error:
        raise NoAnswer(f"No answer from {shorten(address)}: {error}.") from error
    except (HTTPException, ValueError) as error:
        raise Refused.because("address", address, f"the address of a run ({error})") from error
    return taken["stored"]
