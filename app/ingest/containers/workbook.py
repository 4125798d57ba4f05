"""The sheets of a workbook, read in a process of its own."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from typing import Any

from app.domain.errors import InvalidInput, StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.ingest.containers.file_kind import damaged, refused, too_much, with_password
from app.ingest.containers.process_words import BOOK, PAGE
from app.ingest.containers.sheet_table import SheetTable

_TIMEOUT_S = 180
_LATER_DAYS = 1_462


@dataclass(frozen=True)
class Sheet:
    """One sheet with its table, the head of it alone where it is not whole."""

    name: str
    hidden: bool
    whole: bool
    table: SheetTable | None


def sheets_of(data: bytes, wanted: str = "", *, from_1904: bool = False) -> tuple[Sheet, ...]:
    """The sheets with cells: the wanted one whole, else the heads of all (an only one is whole).

    Raises InvalidInput for a workbook that cannot be opened.
    """
    said, texts = _read(data, BOOK, wanted, _LATER_DAYS if from_1904 else 0)
    found = _sheets(said, texts)
    if not any(one.table for one in found):
        raise _empty(said["others"])
    return found


def table_of_page(data: bytes) -> SheetTable | None:
    """The longest table of a page; None where it has none. Raises InvalidInput for a bomb."""
    (only,) = _sheets(*_read(data, PAGE, "", 0))
    return only.table


def _sheets(said: dict[str, Any], texts: bytes) -> tuple[Sheet, ...]:
    """What the other process says, as sheets."""
    if refused := said.get("refused"):
        raise {"password": with_password, "memory": too_much}.get(refused, damaged)()
    found: list[Sheet] = []
    at = 0
    for about in said["sheets"]:
        text = texts[at : at + about["bytes"]].decode()
        at += about["bytes"]
        table = None
        if about["table"] is not None:
            named = about["table"] | {"text": text, "shares": tuple(about["table"]["shares"])}
            table = SheetTable(**named)
        found.append(Sheet(about["name"], about["hidden"], about["whole"], table))
    if any(about["too_large"] for about in said["sheets"]) and not any(one.table for one in found):
        raise too_much()
    return tuple(found)


def _empty(others: int) -> InvalidInput:
    """The refusal of a workbook that has charts alone, or nothing at all."""
    if others:
        return refused(
            N_(
                "This is a workbook with a chart alone. Choose one that holds a sheet with the "
                "numbers behind the chart, row by row."
            )
        )
    return refused(
        N_(
            "This is an empty workbook. Choose one that holds a sheet with the readings, row by "
            "row."
        )
    )


def _read(data: bytes, kind: str, wanted: str, later_days: int) -> tuple[dict[str, Any], bytes]:
    """What the other process says. One that ended early ran out of memory or of time."""
    paths = os.pathsep.join(path for path in sys.path if path)
    try:
        done = subprocess.run(  # noqa: S603
            [
                sys.executable,
                "-P",
                "-m",
                "app.ingest.containers.sheet_process",
                wanted.replace("\0", ""),
                str(later_days),
                kind,
            ],
            input=data,
            capture_output=True,
            timeout=_TIMEOUT_S,
            env=os.environ | {"PYTHONPATH": paths, "PYTHONIOENCODING": "utf-8"},
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise too_much() from None
    except OSError as error:
        raise StorageError(
            say(
                "The workbook could not be opened ({reason}). Nothing was stored.",
                reason=error.strerror or "?",
            )
        ) from error
    line, _, texts = done.stdout.partition(b"\n")
    if done.returncode or not line:
        raise too_much()
    said: dict[str, Any] = json.loads(line)
    return said, texts
