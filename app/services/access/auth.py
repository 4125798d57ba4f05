"""Use cases around the door: the owner's passphrase, and the devices that signed in with it.

Only hashes are kept: of the passphrase by Argon2id, of a session's secret (256 random bits) by
SHA-256. Both lie in the data file, so that every process sees at once that a session was ended.
"""

import hashlib
import hmac
import json
import secrets
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from threading import Lock

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlmodel import Session

from app.domain.auth import (
    MAX_PASSPHRASE_LENGTH,
    MIN_DIFFERENT,
    MIN_PASSPHRASE_LENGTH,
    DeviceSession,
)
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.tokens import hash_token
from app.services.backups.backups import (
    JOINING_SETTINGS,
    PASSPHRASE_SETTING,
    SESSIONS_SETTING,
)
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import settings

FIELD = "passphrase"
SECRET_BYTES = 32
# More devices than one person has; the one used longest ago makes room.
MAX_SESSIONS = 20
# When a session was last used is written down so seldom, not with every page.
NOTED_EVERY = timedelta(minutes=5)
# The library's defaults are the second recommendation of RFC 9106: 64 MiB, three passes.
_hasher = PasswordHasher()
# One at a time: each takes 64 MiB, and many at once would be a way to fill a small machine.
_hashing = Lock()


@dataclass(frozen=True)
class SignedIn:
    """A session as its device holds it: the secret is shown once and kept nowhere here."""

    secret: str
    session: DeviceSession


def has_passphrase(store: Store) -> bool:
    """Whether there is a door at all; without a passphrase nobody gets in from elsewhere."""
    with read_session(store.engine) as session:
        return settings.get(session, PASSPHRASE_SETTING) is not None


def set_passphrase(store: Store, passphrase: str) -> None:
    """Set or change it, which ends every session. Raises InvalidInput, which never repeats it."""
    given = _normal(passphrase)
    _check(given)
    with _hashing:
        made = _hasher.hash(given)
    with write_transaction(store.engine) as session:
        settings.put(session, PASSPHRASE_SETTING, made)
        _end_all(session)


def is_passphrase(store: Store, passphrase: str) -> bool:
    """Whether this is the owner's. Takes the same time for every wrong one."""
    with read_session(store.engine) as session:
        kept = settings.get(session, PASSPHRASE_SETTING)
    if kept is None or len(passphrase) > MAX_PASSPHRASE_LENGTH:
        return False
    given = _normal(passphrase)
    try:
        with _hashing:
            _hasher.verify(kept, given)
    except (VerificationError, InvalidHashError):
        return False
    if _hasher.check_needs_rehash(kept):
        _hash_anew(store, kept, given)
    return True


def begin_session(store: Store, now: datetime, former: str = "") -> SignedIn:
    """A new session; the one that the device held before, if any, is ended."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    made = DeviceSession(hash_token(secret), now, now)

    def with_it(kept: list[DeviceSession]) -> list[DeviceSession]:
        others = [one for one in kept if one.digest != hash_token(former)]
        others.sort(key=lambda one: one.used_at, reverse=True)
        return [made, *others[: MAX_SESSIONS - 1]]

    _change(store, now, with_it)
    return SignedIn(secret, made)


def find_session(store: Store, secret: str, now: datetime, *, uses: bool) -> DeviceSession | None:
    """The session with this secret while it is open. uses says that its owner does something."""
    digest = hash_token(secret)
    with read_session(store.engine) as session:
        found = next(
            (one for one in _kept(session, now) if hmac.compare_digest(one.digest, digest)), None
        )
    if found is not None and uses and now - found.used_at >= NOTED_EVERY:
        _change(
            store,
            now,
            lambda kept: [
                replace(one, used_at=now) if hmac.compare_digest(one.digest, digest) else one
                for one in kept
            ],
        )
    return found


def list_sessions(store: Store, now: datetime) -> list[DeviceSession]:
    """The open ones, the one used last first."""
    with read_session(store.engine) as session:
        return sorted(_kept(session, now), key=lambda one: one.used_at, reverse=True)


def end_session(store: Store, secret: str, now: datetime) -> None:
    """Sign one device out; a session that is not there is none to end."""
    digest = hash_token(secret)
    _change(
        store,
        now,
        lambda kept: [one for one in kept if not hmac.compare_digest(one.digest, digest)],
    )


def end_all_sessions(store: Store) -> None:
    """Sign every device out, and end the sessions of phones that joined a running test."""
    with write_transaction(store.engine) as session:
        _end_all(session)


def form_token(secret: str) -> str:
    """What a form of this session carries. It follows from the secret and leads not back to it."""
    return hmac.new(secret.encode(), b"form", hashlib.sha256).hexdigest()


def _check(passphrase: str) -> None:
    length, different = len(passphrase), len(set(passphrase.casefold()))
    if not MIN_PASSPHRASE_LENGTH <= length <= MAX_PASSPHRASE_LENGTH:
        allowed = say(
            "{shortest} to {longest} characters; four or five words are enough",
            shortest=MIN_PASSPHRASE_LENGTH,
            longest=MAX_PASSPHRASE_LENGTH,
        )
        given = say("{count} characters", count=length)
        raise InvalidInput.because(say("passphrase"), given, allowed, FIELD)
    if different < MIN_DIFFERENT:
        allowed = say(
            "at least {fewest} different characters; four or five words are enough",
            fewest=MIN_DIFFERENT,
        )
        given = say("{count} different ones", count=different)
        raise InvalidInput.because(say("passphrase"), given, allowed, FIELD)


def _end_all(session: Session) -> None:
    for name in (SESSIONS_SETTING, *JOINING_SETTINGS):
        settings.put(session, name, None)


def _hash_anew(store: Store, kept: str, given: str) -> None:
    """A hash of older parameters is made anew while the passphrase is known; sessions go on."""
    with _hashing:
        made = _hasher.hash(given)
    with write_transaction(store.engine) as session:
        if settings.get(session, PASSPHRASE_SETTING) == kept:
            settings.put(session, PASSPHRASE_SETTING, made)


def _change(
    store: Store, now: datetime, change: Callable[[list[DeviceSession]], Iterable[DeviceSession]]
) -> None:
    with write_transaction(store.engine) as session:
        settings.put(session, SESSIONS_SETTING, _as_text(change(_kept(session, now))))


def _kept(session: Session, now: datetime) -> list[DeviceSession]:
    """Those still open. What cannot be read opens nothing."""
    try:
        values = json.loads(settings.get(session, SESSIONS_SETTING) or "[]")
        kept = [_session(one) for one in values]
    except (ValueError, TypeError, KeyError):
        return []
    return [one for one in kept if one.open_at(now)]


def _session(values: dict[str, str]) -> DeviceSession:
    begun, used = (datetime.fromisoformat(values[name]) for name in ("begun_at", "used_at"))
    return DeviceSession(values["digest"], begun, used)


def _as_text(kept: Iterable[DeviceSession]) -> str:
    return json.dumps(
        [
            {
                "digest": one.digest,
                "begun_at": one.begun_at.isoformat(),
                "used_at": one.used_at.isoformat(),
            }
            for one in kept
        ]
    )


def _normal(passphrase: str) -> str:
    # Keyboards differ in how they write one and the same letter (Unicode TR 15).
    return unicodedata.normalize("NFC", passphrase)
