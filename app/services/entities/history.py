"""Use cases around past versions: look at them, bring one back."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import MeterDetails
from app.domain.entities.place import PlaceDetails
from app.domain.entity_kind import EntityKind
from app.domain.errors import FieldError, InvalidInput, NotFound, StaleEdit
from app.domain.i18n.message import say
from app.domain.records.revision import CurrentEntity, Entered, FieldChange, PastVersion
from app.services.entities.batteries import replace_battery
from app.services.entities.discharges import replace_discharge
from app.services.entities.entity_names import current_thing
from app.services.entities.events import replace_event
from app.services.entities.field_changes import NOTHING, changes_between, same
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.records.tables_as_rows import DESCRIBED
from app.storage.repositories import meters, places, revisions

# A page shows so many edits; a long log in each would be a lot to unpack.
MAX_SHOWN = 25
_LEFT_OUT = DESCRIBED[EntityKind.DISCHARGE].columns["left_out_reason"].title
_ENTERED: Mapping[EntityKind, type[Entered]] = {
    EntityKind.BATTERY: BatteryDetails,
    EntityKind.DISCHARGE: DischargeDetails,
    EntityKind.METER: MeterDetails,
    EntityKind.EVENT: Event,
    EntityKind.PLACE: PlaceDetails,
}


@dataclass(frozen=True)
class Edit:
    """What one edit replaced. number and version are those of the version before it; as_now says
    that everything is the same again now.
    """

    number: int
    version: int
    replaced_at: datetime
    changes: tuple[FieldChange, ...]
    as_now: bool


@dataclass(frozen=True)
class VersionHistory:
    """A thing with its edits, the newest first. older is the version to go on from, or None."""

    current: CurrentEntity
    edits: tuple[Edit, ...]
    older: int | None


@dataclass(frozen=True)
class LastEdit:
    """The edit that made the version in use."""

    current: CurrentEntity
    edit: Edit

    @property
    def left_out(self) -> bool | None:
        """Whether it did nothing but leave a test out of the trend; None where it did not."""
        if [change.label for change in self.edit.changes] != [say(_LEFT_OUT)]:
            return None
        change, nothing = self.edit.changes[0], say(NOTHING)
        return {(True, False): True, (False, True): False}.get(
            (change.before == nothing, change.after == nothing)
        )


def show_history(
    store: Store, thing: EntityKind, thing_id: int, up_to: int | None = None
) -> VersionHistory:
    """A thing's edits, from the one that replaced version up_to back. Raises NotFound."""
    with read_session(store.engine) as session:
        current = current_thing(session, thing, thing_id)
        newest = current.version - 1 if up_to is None else min(up_to, current.version - 1)
        edits = _edits(session, current, newest, MAX_SHOWN)
        last = edits[-1].version if edits else 0
        more = bool(edits) and revisions.count(session, thing, thing_id, last) > 0
        return VersionHistory(current, edits, last - 1 if more else None)


def last_edit(store: Store, thing: EntityKind, thing_id: int, version: int) -> LastEdit | None:
    """The edit that replaced this version, None where it is not the last one. Raises NotFound."""
    with read_session(store.engine) as session:
        current = current_thing(session, thing, thing_id)
        if current.version != version + 1:
            return None
        edits = _edits(session, current, version, 1)
        # Versions of records that were brought together may have gaps.
        return LastEdit(current, edits[0]) if edits and edits[0].version == version else None


def bring_back(
    store: Store, thing: EntityKind, thing_id: int, number: int, seen: int, now: datetime
) -> CurrentEntity:
    """Make a past version the one in use, by the checks of an edit; it can be undone as one.

    number is that of the past version, seen the version that the asking page showed as the one in
    use. Raises StaleEdit where another edit came in between or nothing would change, NotFound, and
    InvalidInput where the version no longer fits.
    """
    with write_transaction(store.engine) as session:
        current = current_thing(session, thing, thing_id)
        if current.version != seen:
            raise StaleEdit(
                say(
                    "“{name}” was changed again after this page was opened, or the change was "
                    "undone already: see its earlier versions.",
                    name=current.name,
                )
            )
        past = _replaced(thing, revisions.one(session, thing, thing_id, number))
        if same(past.entered, current.entered):
            raise StaleEdit(
                say(
                    "“{name}” already matches version {version}.",
                    name=current.name,
                    version=past.version,
                )
            )
        try:
            _store(store, session, thing_id, past.entered, now)
        except (InvalidInput, NotFound) as error:
            sentence = say(
                "Version {version} cannot be brought back. {error}",
                version=past.version,
                error=error,
            )
            raise InvalidInput([FieldError(sentence, "", "")]) from error
        return current_thing(session, thing, thing_id)


def _edits(session: Session, current: CurrentEntity, up_to: int, most: int) -> tuple[Edit, ...]:
    """Edits from the one that replaced version up_to back, each with what it changed."""
    names = _meter_names(session)
    follows = revisions.following(session, current.thing, current.id, up_to)
    after = current.entered if follows is None else _replaced(current.thing, follows).entered
    edits = []
    for kept in revisions.of_thing(session, current.thing, current.id, up_to, most):
        past = _replaced(current.thing, kept)
        edits.append(
            Edit(
                past.number,
                past.version,
                past.replaced_at,
                changes_between(current.thing, past.entered, after, names),
                same(past.entered, current.entered),
            )
        )
        after = past.entered
    return tuple(edits)


def _replaced(thing: EntityKind, kept: revisions.KeptRow) -> PastVersion:
    entered = revisions.rebuilt(_ENTERED[thing], kept.row)
    return PastVersion(kept.number, kept.version, kept.replaced_at, entered)


def _meter_names(session: Session) -> dict[int, str]:
    return {meter.id: meter.details.name for meter in meters.all_kept(session)}


def _store(store: Store, session: Session, thing_id: int, entered: Entered, now: datetime) -> None:
    """Store what was entered once as an edit of today."""
    if isinstance(entered, BatteryDetails):
        replace_battery(store, session, thing_id, entered, now)
    elif isinstance(entered, DischargeDetails):
        replace_discharge(session, thing_id, entered, entered.meter_id, now)
    elif isinstance(entered, MeterDetails):
        meters.change(session, thing_id, entered, now)
    elif isinstance(entered, PlaceDetails):
        places.change(session, thing_id, entered, now)
    else:
        replace_event(session, thing_id, entered.on_date, entered.kind, entered.note, now)
