"""Answers to forms that wait to be asked for, in the folder where uploaded files wait, too.

All processes of a server share that folder, so any of them finds what another one kept.
"""

import contextlib
import json
import re
import secrets
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from app.services.store import Store

KEEP_S = 4 * 3600
MAX_PAGES, MAX_BYTES = 100, 40_000_000
_PREFIX = "answer-"
NAME = "[A-Za-z0-9_-]{24}"
_FILE = re.compile(_PREFIX + NAME)


@dataclass(frozen=True)
class KeptPage:
    """An answer to a form, and whose it is: a hash of the session that asked."""

    asked_by: str
    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes = b""


def keep_page(store: Store, page: KeptPage) -> str:
    """Keep an answer under a name that cannot be guessed; empty where the folder takes nothing."""
    name = secrets.token_urlsafe(18)
    about = asdict(page) | {"body": None}
    try:
        store.staging.mkdir(exist_ok=True)
        path = store.staging / (_PREFIX + name)
        path.write_bytes(json.dumps(about).encode() + b"\n" + page.body)
        _forget(store)
    except OSError:
        return ""
    return name


def find_page(store: Store, name: str, asked_by: str) -> KeptPage | None:
    """The answer of this name to the one who asked for it; None for anybody else, and later."""
    path = store.staging / (_PREFIX + name)
    try:
        if not _is_ours(path) or _is_over(path):
            return None
        about, _, body = path.read_bytes().partition(b"\n")
        read = json.loads(about)
    except (OSError, ValueError):
        return None
    headers = tuple((key, value) for key, value in read["headers"])
    page = KeptPage(read["asked_by"], read["status"], headers, body)
    return page if secrets.compare_digest(page.asked_by, asked_by) else None


def _forget(store: Store) -> None:
    """The oldest go first where they are too old, too many or too large together."""
    kept = sorted(_sizes(store), reverse=True)
    left = MAX_BYTES
    for number, (_, size, path) in enumerate(kept):
        left -= size
        if number >= MAX_PAGES or (left < 0 and number) or _is_over(path):
            path.unlink(missing_ok=True)


def _sizes(store: Store) -> Iterator[tuple[float, int, Path]]:
    """When each was kept, its size and where it lies."""
    for path in store.staging.iterdir():
        # Another process may be quicker.
        with contextlib.suppress(FileNotFoundError):
            if _is_ours(path):
                about = path.stat()
                yield about.st_mtime_ns, about.st_size, path


def _is_ours(path: Path) -> bool:
    return bool(_FILE.fullmatch(path.name)) and path.is_file() and not path.is_symlink()


def _is_over(path: Path) -> bool:
    try:
        return path.stat().st_mtime < time.time() - KEEP_S
    except FileNotFoundError:
        return True
