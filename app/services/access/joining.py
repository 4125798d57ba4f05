"""Use cases around phones that join a running test: a code, a session for that one test, its end.

A phone is in the test for as long as the test runs (`Run.course`): ended or given up, it is
over, and a test that is taken up again asks for a new code. Of codes and sessions only hashes are
kept.
"""

import hmac
import json
import secrets
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, fields, replace
from datetime import datetime
from typing import TypeVar

from sqlmodel import Session

from app.domain.entities.run import RunState
from app.domain.errors import LinkClosed, NotFound
from app.domain.joining import CODE_LASTS, JoinedPhone, JoiningCode, PhoneStanding
from app.domain.tokens import hash_token
from app.services.access.auth import NOTED_EVERY
from app.services.backups.backups import CODES_SETTING, PHONES_SETTING
from app.services.entities.runs import open_run
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, runs, settings

CODE_BYTES, SECRET_BYTES = 16, 32
# As many as a setting has room for; the phone used longest ago makes room.
MAX_PHONES, MAX_CODES = 12, 12
Kept = TypeVar("Kept", JoiningCode, JoinedPhone)


@dataclass(frozen=True)
class PhoneInTest:
    """A phone with the name of the battery whose test it is in."""

    phone: JoinedPhone
    battery_name: str


@dataclass(frozen=True)
class ShownCode:
    """A code as the screen shows it, once: it is kept nowhere."""

    code: str
    ends_at: datetime


def make_code(store: Store, run_id: int, now: datetime) -> ShownCode:
    """A code that lets one phone join; the one before it opens nothing any more.

    Raises NotFound, and InvalidInput for a test that does not run.
    """
    code = secrets.token_urlsafe(CODE_BYTES)
    with write_transaction(store.engine) as session:
        open_run(session, run_id)
        made = JoiningCode(hash_token(code), run_id, _course(session, run_id), now + CODE_LASTS)
        others = [one for one in _codes(session, now) if one.run_id != run_id]
        _put(session, CODES_SETTING, [made, *others][:MAX_CODES])
    return ShownCode(code, made.ends_at)


def code_opens(store: Store, run_id: int, code: str, now: datetime) -> bool:
    """Whether a phone could join with it; asking does not use it up."""
    with read_session(store.engine) as session:
        return _matching(session, run_id, code, now) is not None


def join(store: Store, run_id: int, code: str, now: datetime) -> str:
    """Let a phone join and use the code up; returns the phone's secret.

    Raises LinkClosed for a code that is wrong, used, or too old: all look the same.
    """
    secret = secrets.token_urlsafe(SECRET_BYTES)
    with write_transaction(store.engine) as session:
        found = _matching(session, run_id, code, now)
        if found is None:
            raise LinkClosed
        _put(session, CODES_SETTING, [one for one in _codes(session, now) if one != found])
        phone = JoinedPhone(hash_token(secret), run_id, found.course, now, now)
        others = sorted(_phones(session, now), key=lambda one: one.used_at, reverse=True)
        others = [one for one in others if _is_in(session, one)]
        _put(session, PHONES_SETTING, [phone, *others][:MAX_PHONES])
    return secret


def find_phone(
    store: Store, run_id: int, secret: str, now: datetime, *, uses: bool
) -> PhoneStanding:
    """What the phone with this secret is to the test. uses says that somebody does something."""
    with read_session(store.engine) as session:
        phone = _with_secret(_phones(session, now), run_id, secret)
        if phone is None:
            return PhoneStanding.UNKNOWN
        if not _is_in(session, phone):
            return PhoneStanding.OVER
    if uses and now - phone.used_at >= NOTED_EVERY:
        used = replace(phone, used_at=now)
        _change(store, now, lambda one: used if one.digest == phone.digest else one)
    return PhoneStanding.JOINED


def list_phones(store: Store, now: datetime, run_id: int | None = None) -> list[JoinedPhone]:
    """The phones that are in a test, or in this one; the one used last first."""
    with read_session(store.engine) as session:
        found = [one for one in _phones(session, now) if run_id in (None, one.run_id)]
        found = [one for one in found if _is_in(session, one)]
    return sorted(found, key=lambda one: one.used_at, reverse=True)


def phones_in_tests(store: Store, now: datetime) -> list[PhoneInTest]:
    """Every phone that is in a test, with the battery."""
    with read_session(store.engine) as session:
        found = [one for one in _phones(session, now) if _is_in(session, one)]
        found.sort(key=lambda one: one.used_at, reverse=True)
        run_of = {one: runs.get(session, one.run_id) for one in found}
        named = {one: batteries.get(session, run.battery_id) for one, run in run_of.items()}
    return [PhoneInTest(one, battery.details.name) for one, battery in named.items()]


def leave(store: Store, run_id: int, secret: str, now: datetime) -> None:
    """The phone itself leaves the test."""
    digest = hash_token(secret)
    _change(store, now, lambda one: None if (one.run_id, one.digest) == (run_id, digest) else one)


def end_phone(store: Store, name: str, now: datetime) -> None:
    """End one phone's session; one that is not there is none to end."""
    _change(store, now, lambda one: None if one.name == name else one)


def end_phones(store: Store, run_id: int, now: datetime) -> None:
    """End the sessions of every phone in this test, and its code that nobody scanned yet."""
    _change(store, now, lambda one: None if one.run_id == run_id else one)
    with write_transaction(store.engine) as session:
        others = [one for one in _codes(session, now) if one.run_id != run_id]
        _put(session, CODES_SETTING, others)


def waits_for_phones(store: Store, now: datetime) -> bool:
    """Whether a phone is in a test that runs, or may still scan a code for one."""
    with read_session(store.engine) as session:
        waiting: list[JoiningCode | JoinedPhone] = [*_phones(session, now), *_codes(session, now)]
        return any(_is_in(session, one) for one in waiting)


def _course(session: Session, run_id: int) -> str:
    """Names the run as it goes on now; empty where it is over, gone, or in the bin."""
    with suppress(NotFound):
        run = runs.get(session, run_id)
        batteries.get(session, run.battery_id)
        if run.state is RunState.RUNNING:
            return runs.get(session, run_id).course
    return ""


def _is_in(session: Session, one: JoiningCode | JoinedPhone) -> bool:
    return one.course == _course(session, one.run_id)


def _matching(session: Session, run_id: int, code: str, now: datetime) -> JoiningCode | None:
    digest = hash_token(code)
    for one in _codes(session, now):
        if one.run_id == run_id and hmac.compare_digest(one.digest, digest):
            return one if _is_in(session, one) else None
    return None


def _with_secret(phones: Sequence[JoinedPhone], run_id: int, secret: str) -> JoinedPhone | None:
    digest = hash_token(secret)
    same = (one for one in phones if hmac.compare_digest(one.digest, digest))
    return next((one for one in same if one.run_id == run_id), None)


def _change(
    store: Store, now: datetime, change: Callable[[JoinedPhone], JoinedPhone | None]
) -> None:
    with write_transaction(store.engine) as session:
        changed = [change(one) for one in _phones(session, now)]
        _put(session, PHONES_SETTING, [one for one in changed if one is not None])


def _codes(session: Session, now: datetime) -> list[JoiningCode]:
    return [one for one in _read(session, CODES_SETTING, JoiningCode) if one.open_at(now)]


def _phones(session: Session, now: datetime) -> list[JoinedPhone]:
    return [one for one in _read(session, PHONES_SETTING, JoinedPhone) if one.open_at(now)]


def _read(session: Session, name: str, kind: type[Kept]) -> list[Kept]:
    """What cannot be read opens nothing."""
    times = [field.name for field in fields(kind) if field.name.endswith("_at")]
    try:
        values = json.loads(settings.get(session, name) or "[]")
        return [
            kind(**{**one, **{time: datetime.fromisoformat(one[time]) for time in times}})
            for one in values
        ]
    except (ValueError, TypeError, KeyError):
        return []


def _put(session: Session, name: str, kept: Sequence[Kept]) -> None:
    values = [asdict(one) for one in kept]
    text = json.dumps(values, default=datetime.isoformat, separators=(",", ":"))
    settings.put(session, name, text if values else None)
