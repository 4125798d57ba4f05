"""What was just done, said above the page that follows, with one button that takes it back.

An address carries only what is asked about (“bin.discharge.12”); the words come from the data, so
that a made-up address says nothing untrue and a page that is loaded again says what is so by then.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import Request
from starlette.responses import Response

from app.domain.entity_kind import EDITED, EntityKind
from app.domain.errors import FadelineError
from app.domain.i18n.message import joined, say, say_plural
from app.domain.records.revision import CurrentEntity
from app.services.backups.backups import show_backups
from app.services.entities import bin, history, imports
from app.services.entities.history import LastEdit
from app.services.exchange import upload_staging
from app.services.store import Store
from app.web.rendering.filters import megabytes, moment
from app.web.rendering.rendering import Notice, path_to, see_other, store_of

_CAME_IN = re.compile(r"(came|again|back)\.([0-9]{1,18})\.([A-Za-z0-9_-]{8,64})")
_BACKED_UP = re.compile(r"backup\.([A-Za-z0-9.-]{8,80})")
_DONE = re.compile(r"(bin|edit)\.([a-z_]{1,20})\.([0-9]{1,18})(?:\.([0-9]{1,18}))?")
# So many fields are named; the history names all.
_MAX_NAMED = 2


@dataclass(frozen=True)
class Home:
    """The page on which a thing stands: its route and what that needs."""

    name: str
    path: dict[str, int]


def home_of(current: CurrentEntity) -> Home:
    """Where the owner sees a thing: an event on its battery's page, a meter among the others."""
    if current.thing is EntityKind.DISCHARGE:
        return Home("discharge", {"discharge_id": current.id})
    if current.thing is EntityKind.PLACE:
        return Home("place", {"place_id": current.id})
    if current.battery_id is None:
        return Home("meters", {})
    return Home("battery", {"battery_id": current.battery_id})


def binned(kind: str, item_id: int) -> str:
    """What an address says after something was put in the bin."""
    return f"bin.{kind}.{item_id}"


def edited(thing: EntityKind, item_id: int, version: int, now: int | None = None) -> str:
    """What an address says after an edit replaced this version; empty for a new thing.

    Empty, too, where now, the version that is stored by then, is no newer: nothing was changed.
    """
    if not version or (now is not None and now <= version):
        return ""
    return f"edit.{thing}.{item_id}.{version}"


def came_in(battery_id: int, import_uid: str) -> str:
    """What an address says after several tests came in together."""
    return f"came.{battery_id}.{import_uid}"


def stored_before(request: Request, battery_id: int, posted: Mapping[str, str]) -> Response | None:
    """What a second press of “store” gets: the battery, which says so; None if nothing is stored.

    By then the file of the preview is gone, or all its tests look as if they were entered twice.
    """
    name = posted.get("staged", "")
    if not name or posted.get("action") != "store":
        return None
    import_uid = upload_staging.import_uid_of(name)
    if not imports.show_import(store_of(request), battery_id, import_uid).stored:
        return None
    done = f"again.{battery_id}.{import_uid}"
    return see_other(request, "battery", done=done, battery_id=battery_id)


def taken_back(battery_id: int, import_uid: str) -> str:
    """What an address says after all of them were taken back."""
    return f"back.{battery_id}.{import_uid}"


def backed_up(name: str) -> str:
    """What an address says after a backup was made into a file of this name."""
    return f"backup.{name}"


def notice_of(request: Request) -> Notice | None:
    """What the address of this page says was done, None where that is not so (any more)."""
    if together := _CAME_IN.fullmatch(request.query_params.get("done", "")[:120]):
        return _together(request, together[1], int(together[2]), together[3])
    if made := _BACKED_UP.fullmatch(request.query_params.get("done", "")[:120]):
        return _made(store_of(request), made[1])
    asked = _DONE.fullmatch(request.query_params.get("done", "")[:80])
    if asked is None:
        return None
    what, kind, number, version = asked.groups()
    try:
        if what == "bin":
            return _binned(request, store_of(request), kind, int(number))
        if version is not None and kind in EDITED:
            found = history.last_edit(
                store_of(request), EntityKind(kind), int(number), int(version)
            )
            return None if found is None else _edited(request, found)
    except FadelineError:
        # It is gone or lies in the bin by now: nothing is left to say or to undo.
        pass
    return None


def _together(request: Request, what: str, battery_id: int, import_uid: str) -> Notice | None:
    """About tests that came in together: how many of them are stored, or lie in the bin."""
    found = imports.show_import(store_of(request), battery_id, import_uid)
    if what == "back":
        if found.stored or not found.binned:
            return None
        words = say_plural(
            "The capacity test that came in was moved to the bin.",
            "All {count} capacity tests that came in together were moved to the bin.",
            found.binned,
        )
        return Notice(words)
    if not found.stored:
        return None
    words = say_plural(
        "1 capacity test came in.", "{count} capacity tests came in together.", found.stored
    )
    if what == "again":
        words = joined(
            " ", (say("These tests are stored already. Nothing was stored twice."), words)
        )
    path = path_to(request, "take_back_import", battery_id=battery_id, import_uid=import_uid)
    return Notice(joined(" ", (words, *found.left_out)), path, undo=say("Take all back"))


def _made(store: Store, name: str) -> Notice | None:
    """About a backup that lies in one of its folders."""
    if store.on_server:
        return None
    found = [one for one in show_backups(store.engine).backups if one.path.name == name]
    if not found:
        return None
    said = {"name": name, "size": megabytes(found[0].size)}
    return Notice(say("Backed up: {name}, {size}.", **said))


def _binned(request: Request, store: Store, kind: str, number: int) -> Notice | None:
    item = bin.binned_item(store, kind, number)
    if item is None:
        return None
    action = path_to(request, "restore", kind=kind, item_id=number)
    about = {"name": item.name, "when": moment(item.binned_at.astimezone())}
    if item.note:
        words = say("“{name}” {note} was moved to the bin ({when}).", **about, note=item.note)
    else:
        words = say("“{name}” was moved to the bin ({when}).", **about)
    return Notice(words, action)


def _edited(request: Request, found: LastEdit) -> Notice:
    current, edit = found.current, found.edit
    where = {"thing": current.thing.value, "item_id": current.id}
    return Notice(
        _change(found),
        path_to(request, "bring_back", **where, number=edit.number),
        seen=current.version,
        history=path_to(request, "history", **where),
    )


def _change(found: LastEdit) -> str:
    edit = found.edit
    about = {"name": found.current.name, "when": moment(edit.replaced_at.astimezone())}
    if found.left_out is not None:
        if found.left_out:
            return say("“{name}” was left out of the fade ({when}).", **about)
        return say("“{name}” counts in the fade again ({when}).", **about)
    named = joined("; ", (change.words for change in edit.changes[:_MAX_NAMED]))
    more = len(edit.changes) - _MAX_NAMED
    if more <= 0:
        return say("“{name}” was changed: {named} ({when}).", **about, named=named)
    return say(
        "“{name}” was changed: {named}; and {more} more ({when}).", **about, named=named, more=more
    )
