"""Sending readings from a file or standard input into a running test."""

import json
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from http import HTTPStatus
from http.client import HTTPException
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from typing import IO, Any

import typer

from app.domain.errors import FadelineError, InvalidInput, truncate
from app.ingest.column_inference import guess_uses
from app.ingest.feed_line import FeedLines
from app.server.terminal import echo

BATCH = 500
WAIT_S = 1.0
MAX_WAIT_S = 60.0


class NoAnswer(FadelineError):
    """The server is away."""


class NotTaken(FadelineError):
    """The run refused what was sent; nothing of it was stored."""


@dataclass
class Fed:
    """How many readings were stored, how many the run refused, and how many lines made none."""

    stored: int = 0
    refused: int = 0
    lacking: int = 0


def address_of_feed(run: str) -> str:
    """Where readings of a run are sent to, from the address of its page."""
    address = run.rstrip("/")
    if "/api/runs/" not in address:
        address = address.replace("/runs/", "/api/runs/")
    return address if address.endswith("/readings") else f"{address}/readings"


def run_feed(address: str, token: str, source: IO[str], *, follow: bool) -> Fed:
    """Send every line of the source. Raises FadelineError.

    A reading that the run refuses, or a line that lacks a value, is named and the rest goes on.
    With follow the source is watched for more until it is interrupted.
    """
    lines = FeedLines(guess_uses)
    fed = Fed()
    heading: list[str] = []
    for batch in _batches(source, follow):
        try:
            readings = lines.readings([*heading, *batch], datetime.now(UTC))
        except InvalidInput:
            if not follow or lines.begun:
                raise
            # A log that has just been begun holds its heading alone.
            heading += batch
            continue
        heading = []
        for said in lines.lacking:
            echo(f"No value: {said}", err=True)
        fed.lacking += lines.passed_over
        if readings:
            _send_parts(address, token, readings, fed, follow)
    return fed


def _send_parts(
    address: str, token: str, readings: list[dict[str, Any]], fed: Fed, follow: bool
) -> None:
    """Send readings; where they are refused, send the halves, down to the one that is wrong."""
    try:
        fed.stored += _send_on(address, token, readings, follow)
    except NotTaken as error:
        if len(readings) == 1:
            fed.refused += 1
            echo(f"Not taken: {error}", err=True)
            return
        half = len(readings) // 2
        for part in (readings[:half], readings[half:]):
            _send_parts(address, token, part, fed, follow)


def _send_on(address: str, token: str, readings: list[dict[str, Any]], follow: bool) -> int:
    """Send; with follow try again while the server is away: a reading sent twice is stored once."""
    wait_s = WAIT_S
    while True:
        try:
            return _send(address, token, readings)
        except NoAnswer as error:
            if not follow:
                raise
            echo(f"{error} Trying again in {wait_s:g} s.", err=True)
            time.sleep(wait_s)
            wait_s = min(2 * wait_s, MAX_WAIT_S)


def open_source(name: str) -> IO[str]:
    """A file, or standard input for a dash. Raises InvalidInput."""
    if name == "-":
        return typer.get_text_stream("stdin")
    try:
        return Path(name).open(encoding="utf-8-sig", errors="replace")
    except OSError as error:
        raise InvalidInput.because("file", name, f"a readable file ({error.strerror})") from error


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


def _details(said: str) -> str:
    """The sentences of a refusal; what came as it is where it is none of Fadeline's."""
    try:
        return " ".join(json.loads(said)["details"])
    except (ValueError, KeyError, TypeError):
        return truncate(said, 300)


def _send(address: str, token: str, readings: list[dict[str, Any]]) -> int:
    if not address.startswith(("http://", "https://")):
        raise InvalidInput.because("address", address, "one that begins with http:// or https://")
    try:
        request = urllib.request.Request(  # noqa: S310
            address,
            data=json.dumps({"readings": readings}).encode(),
            headers={"Content-Type": "application/json", "Authorization": f"Bearer {token}"},
            method="POST",
        )
        with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
            taken: dict[str, int] = json.load(answer)
    except urllib.error.HTTPError as error:
        said = error.read().decode(errors="replace")[:500]
        # An ended run refuses everything: there is no use in trying the halves.
        ended = "one that is running" in said
        if error.code == HTTPStatus.UNPROCESSABLE_ENTITY and not ended:
            raise NotTaken(_details(said)) from error
        raise FadelineError(f"The running test refused this: {_details(said)}") from error
    except OSError as error:
        raise NoAnswer(f"No answer from {truncate(address)}: {error}.") from error
    except (HTTPException, ValueError) as error:
        raise InvalidInput.because(
            "address", address, f"the address of a running test ({error})"
        ) from error
    return taken["stored"]
