"""What was computed of the batteries: in memory, and in the database, where it outlives a start.

Each thing stands under a key: the state of the records that it is made of (`record_state`), what
else was asked for, and in the database the method's version and the program itself. Whoever asks
says the key of what there is now, so that something old cannot be an answer: it is not asked for.
What cannot be written is not kept.
"""

import hashlib
import logging
from collections.abc import Callable, Hashable, Mapping
from functools import cache
from pathlib import Path
from threading import Lock
from typing import TypeVar, cast

from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session

from app.analysis.evidence import result
from app.domain.errors import StorageError
from app.services.lru_cache import LruCache
from app.storage.repositories import computed
from app.storage.repositories.computed import Made
from app.storage.schema.dataclass_as_json import pack_dataclass, unpack_dataclass

T = TypeVar("T")
# So many are in memory: cards as a club has batteries; reports and their charts, together 250 kB
# with 40 tests, of those that are talked about; what else pages show of them. Only the first two
# are stored.
KEPT = {"card": 5_000, "report": 500, "view": 100, "chart": 500}
log = logging.getLogger("fadeline")


@cache
def _program() -> bytes:
    """A digest of the program's code and data: another one may compute or say something else."""
    folder = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256()
    for path in sorted((*folder.rglob("*.py"), *(folder / "data").iterdir())):
        digest.update(path.relative_to(folder).as_posix().encode())
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.digest()


def key_of(*parts: object) -> str:
    """The key of what is computed of these parts, each of which says by its repr all that it is."""
    made_by = (result.METHOD_VERSION, _program())
    return hashlib.sha256(repr((made_by, parts)).encode()).hexdigest()


class Computed:
    """What was computed, by its part, its battery and its key. Safe to use from threads."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._memory = {part: LruCache[object](size) for part, size in KEPT.items()}
        self._lock = Lock()
        self._unwritten: dict[tuple[int, str], Made] = {}

    def get(self, part: str, key: Hashable, make: Callable[[], T]) -> T:
        """What is in memory under this key, which is never stored; made where it is not there."""
        return cast(T, self._memory[part].get(key, make))

    def find(
        self, session: Session, part: str, kind: type[T], keys: Mapping[int, str]
    ) -> dict[int, T]:
        """What is kept under these keys, by battery; the database is asked once at the most."""
        memory = self._memory[part]
        found = {number: memory.find((number, key)) for number, key in keys.items()}
        missing = {number: keys[number] for number, one in found.items() if one is None}
        for number, content in computed.found(session, part, missing).items():
            try:
                found[number] = unpack_dataclass(content, kind)
            except ValueError:
                continue
            memory.put((number, keys[number]), found[number])
        return {number: cast(T, one) for number, one in found.items() if one is not None}

    def put(self, part: str, number: int, key: str, thing: object) -> None:
        """Keep what was computed of a battery: in memory now, in the database when it is written.

        What would not come back from there the same stays in memory alone.
        """
        self._memory[part].put((number, key), thing)
        try:
            content = pack_dataclass(thing)
            same = unpack_dataclass(content, type(thing)) == thing
        except (TypeError, ValueError):
            same = False
        if same:
            with self._lock:
                self._unwritten[number, part] = Made(number, part, key, content)

    def write(self) -> None:
        """Store what was computed since the last time. Only outside of any other transaction.

        Where the database is busy or cannot be written to, it is forgotten: nobody waits for it.
        """
        with self._lock:
            made, self._unwritten = list(self._unwritten.values()), {}
        try:
            computed.keep(self._engine, made)
        except (StorageError, SQLAlchemyError) as error:
            log.debug("what was computed was not kept: %s", error)
