"""Two pages that edit one thing: the second is shown what the first one stored, and chooses."""

from sqlmodel import Session

from app.domain.entity_kind import EntityKind
from app.domain.errors import EditConflict
from app.domain.i18n.message import say
from app.domain.records.revision import Entered
from app.services.entities.entity_names import current_thing
from app.services.entities.field_changes import changes_between, same
from app.storage.repositories import meters


def refuse_overtaken(
    session: Session, thing: EntityKind, thing_id: int, seen: int | None, typed: Entered
) -> None:
    """Raise EditConflict where another version is stored than the one that the form was filled
    from.

    seen is that version, None where nobody says. What is the same as stored overtakes nothing.
    """
    if seen is None:
        return
    current = current_thing(session, thing, thing_id)
    if current.version == seen or same(current.entered, typed):
        return
    names = {meter.id: meter.details.shown_name for meter in meters.all_kept(session)}
    changes = changes_between(thing, current.entered, typed, names)
    raise EditConflict(
        current.version,
        (
            say(
                "“{name}” changed in another window after you opened this one. Stored now → "
                "entered here:",
                name=current.name,
            ),
            *(change.words + "." for change in changes),
            say(
                "Store again to replace it with your entries, or leave this page to keep the "
                "stored version. Fadeline keeps both versions."
            ),
        ),
    )
