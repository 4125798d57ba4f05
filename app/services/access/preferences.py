"""Keeping in which language the owner reads, and how temperatures, dates and numbers are shown.

All of it belongs to this machine.
"""

from dataclasses import fields

from app.domain.errors import StorageError
from app.domain.i18n.preferences import (
    DateShown,
    DecimalShown,
    Language,
    Preferences,
    TemperatureShown,
)
from app.services.backups.backups import SHOWN_SETTINGS
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import settings

_CHOICES = {
    "language": Language,
    "temperature": TemperatureShown,
    "dates": DateShown,
    "decimals": DecimalShown,
}
_NAMES = dict(zip(_CHOICES, SHOWN_SETTINGS, strict=True))


def preferences_of(store: Store) -> Preferences:
    """What was chosen; what nobody chose, or what another version wrote, is as usual."""
    with read_session(store.engine) as session:
        kept = settings.several(session, tuple(_NAMES.values()))
    by_name = {name: kept.get(setting) for name, setting in _NAMES.items()}
    chosen = {
        name: _CHOICES[name](value)
        for name, value in by_name.items()
        if value in tuple(_CHOICES[name])
    }
    store.preferred = Preferences(**chosen)  # type: ignore[arg-type]
    return store.preferred


def last_preferences(store: Store) -> Preferences:
    """The same; while the records cannot be read, as this process read or kept them last."""
    try:
        return preferences_of(store)
    except StorageError:
        return store.preferred


def keep_preferences(store: Store, chosen: Preferences) -> None:
    """Store every choice, also those that are as usual."""
    with write_transaction(store.engine) as session:
        for field in fields(chosen):
            settings.put(session, _NAMES[field.name], getattr(chosen, field.name).value)
    store.preferred = chosen
