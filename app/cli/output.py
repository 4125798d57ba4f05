"""What the commands share that work through files: reading one, and printing what came of it."""

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import typer

from app.domain.errors import FadelineError, InvalidInput
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.ingest.text import too_large
from app.server.terminal import echo

Record = dict[str, Any]
Item = TypeVar("Item")
Made = TypeVar("Made")


def print_json(value: object) -> None:
    echo(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))


def file_bytes(file: Path) -> bytes:
    try:
        size = file.stat().st_size
        if size > UPLOAD_LIMIT_MB * 1_000_000:
            raise too_large(size)
        return file.read_bytes()
    except OSError as error:
        raise InvalidInput.because("file", file, f"a readable file ({error.strerror})") from error


def each_named(
    items: Sequence[Item],
    name: Callable[[Item], str],
    label: str,
    work: Callable[[Item], Made],
) -> tuple[list[Made], int]:
    """Work through items with a progress bar; one that fails is named and the rest goes on."""
    records: list[Made] = []
    failed = 0
    hidden = len(items) < 2 or not sys.stderr.isatty()
    with typer.progressbar(items, label=label, file=sys.stderr, hidden=hidden) as bar:
        for item in bar:
            try:
                records.append(work(item))
            except FadelineError as error:
                failed += 1
                echo(f"{name(item)}: {error}", err=True)
    return records, failed
