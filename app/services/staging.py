"""Files that were read but are not yet stored as a test.

The preview shows what was assumed; only the owner's "store" makes a test of it. Until then the
bytes wait in a folder that is emptied at every start.
"""

import re
import secrets
import time
from collections.abc import Sequence

from app.domain.errors import Refused, StorageTrouble
from app.ingest.columns import ColumnUse
from app.ingest.reader import Imported, read_file, read_typed
from app.ingest.text import UPLOAD_LIMIT_MB, too_large
from app.services.store import Store

# The reader's own words, for the form that shows them.
__all__ = [
    "UPLOAD_LIMIT_MB",
    "ColumnUse",
    "Imported",
    "drop_staged",
    "read_staged",
    "read_typed",
    "stage",
    "too_large",
]

KEEP_S = 24 * 3600
_NAME = re.compile(r"[A-Za-z0-9_-]{16,40}")


def stage(store: Store, data: bytes) -> tuple[str, Imported]:
    """Read a file and keep its bytes for the preview; returns its name and what was read.

    Raises Refused where it holds no readings; then nothing is kept.
    """
    imported = read_file(data)
    name = secrets.token_urlsafe(18)
    try:
        for old in store.staging.iterdir():
            if old.stat().st_mtime < time.time() - KEEP_S:
                old.unlink()
        (store.staging / name).write_bytes(data)
    except OSError as error:
        raise StorageTrouble(
            f"The file could not be kept for the preview ({error.strerror}). Nothing was stored."
        ) from error
    return name, imported


def read_staged(store: Store, name: str, uses: Sequence[ColumnUse] | None) -> Imported:
    """Read a staged file again with other columns. Raises Refused."""
    return read_file(_bytes(store, name), uses)


def drop_staged(store: Store, name: str) -> None:
    """Forget a staged file once its test is stored."""
    if _NAME.fullmatch(name):
        (store.staging / name).unlink(missing_ok=True)


def _bytes(store: Store, name: str) -> bytes:
    path = store.staging / name
    if not _NAME.fullmatch(name) or not path.is_file():
        raise Refused.because(
            "file", "a preview that is no longer there", "the file once more", "file"
        )
    return path.read_bytes()
