"""Use cases around removing something from the bin for good."""

from dataclasses import dataclass

from sqlmodel import Session

from app.domain.entity_kind import BINNED
from app.domain.errors import NotFound, StaleEdit
from app.domain.i18n.marks import N_plural
from app.domain.i18n.message import say, say_plural
from app.services.entities.bin import BinnedItem, binned_in
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.records.tables_as_rows import record_table
from app.storage.repositories import purge

# One row and several of what goes with a thing; a table without words here is told by its own.
_WORDS = {
    "discharge": N_plural("1 capacity test", "{count} capacity tests"),
    "event": N_plural("1 event", "{count} events"),
    "run": N_plural("1 test noted while it ran", "{count} tests noted while they ran"),
    "run_reading": N_plural("1 reading noted on the way", "{count} readings noted on the way"),
    "attachment": N_plural("1 original file", "{count} original files"),
    "photo": N_plural("1 photo", "{count} photos"),
    "share": N_plural("1 read-only link", "{count} read-only links"),
    "share_beside": N_plural("1 entry on a link to several", "{count} entries on links to several"),
    "stay": N_plural("1 stay at a place", "{count} stays at places"),
    "temperature_log": N_plural("1 temperature log", "{count} temperature logs"),
    "temperature_day": N_plural("1 day of temperatures", "{count} days of temperatures"),
    "revision": N_plural("1 earlier version", "{count} earlier versions"),
}


@dataclass(frozen=True)
class Removal:
    """What would go with a thing in the bin, in words; seen stands for exactly these rows."""

    item: BinnedItem
    goes: tuple[str, ...]
    seen: str


def what_goes(store: Store, kind: str, item_id: int) -> Removal:
    """Raises NotFound, and StaleEdit where it does not lie in the bin."""
    with read_session(store.engine) as session:
        return _removal(session, kind, item_id)[0]


def remove_for_good(store: Store, kind: str, item_id: int, seen: str) -> BinnedItem:
    """Remove a thing in the bin with all that belongs to it, if that is what its owner saw.

    Raises NotFound, and StaleEdit where it does not lie in the bin or other things belong to it.
    """
    with write_transaction(store.engine) as session:
        planned, rows = _removal(session, kind, item_id)
        if planned.seen != seen:
            raise StaleEdit(
                say(
                    "The contents of “{name}” differ from the ones this page showed. Nothing was "
                    "removed; look again.",
                    name=planned.item.name,
                )
            )
        purge.remove(session, rows)
        return planned.item


def _removal(session: Session, kind: str, item_id: int) -> tuple[Removal, dict[str, list[int]]]:
    if kind not in BINNED:
        raise NotFound(say("There is nothing called “{kind}” in the bin.", kind=kind))
    rows = purge.belonging(session, kind, item_id)
    item = binned_in(session, kind, item_id)
    counts = {name: len(numbers) for name, numbers in rows.items() if name != kind}
    seen = ",".join(f"{name}:{count}" for name, count in sorted(counts.items()))
    order = [*_WORDS, *sorted(set(counts) - set(_WORDS))]
    goes = tuple(_counted(name, counts[name]) for name in order if name in counts)
    return Removal(item, goes, seen), rows


def _counted(table: str, count: int) -> str:
    if table in _WORDS:
        one, several = _WORDS[table]
        return say_plural(one, several, count)
    thing = say(record_table(table).thing)
    if count == 1:
        return "1 " + thing
    return say("{count} rows of {thing}", count=count, thing=thing)
