"""A file that somebody sent: checked against its own data, then kept as a battery of its own."""

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from sqlmodel import Session

from app.archive.html_file_reader import (
    MAX_BYTES,
    PageText,
    differences,
    foreign_figures,
    read_page,
)
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.errors import FieldError, InvalidInput, NotFound
from app.domain.i18n.message import say
from app.domain.local_clock import day_here
from app.domain.records.sent_battery import SentBattery, SentMeter, SentTest, TextDifference
from app.services.entities.discharges import EARLIEST, check_start
from app.services.exchange.file_contents import read_sent
from app.services.exchange.upload_staging import staged_bytes, waiting_path
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, discharges, events, meters
from app.storage.repositories.uids import give_lasting_name, longest, number_of

FIELD = "file"
_MARK = " (received)"


@dataclass(frozen=True)
class Received:
    """A file that was taken apart: what its page says, and the battery in its data."""

    page: PageText
    sent: SentBattery


@dataclass(frozen=True)
class Standing:
    """What keeping a received battery would come to. battery_id is set where it is here already,
    from an earlier file."""

    battery_id: int | None
    new_tests: int
    known_tests: int


def check_size(size: int) -> None:
    """Refuse a file above the limit before it is kept. Size in bytes."""
    if size > MAX_BYTES:
        allowed = say("at most {most:.0f} MB", most=MAX_BYTES / 1e6)
        raise InvalidInput.because(say("file"), f"{size / 1e6:.0f} MB", allowed, FIELD)


def check_page(sent: SentBattery, min_page_bytes: int) -> None:
    """Refuse data whose page cannot but be above the limit: to compute it would take minutes."""
    if min_page_bytes > MAX_BYTES:
        found = say("data of {count} tests", count=len(sent.tests))
        allowed = say("data whose page has at most {most:.0f} MB", most=MAX_BYTES / 1e6)
        raise InvalidInput.because(say("file"), found, allowed, FIELD)


def open_received(store: Store, staged: str, now: datetime) -> Received:
    """Take a waiting file apart. Raises InvalidInput, in one sentence, where it is no whole one."""
    page = read_page(staged_bytes(store, staged))
    path = waiting_path(store)
    try:
        path.write_bytes(page.data)
        sent = read_sent(path)
        _check_days(sent, now)
    except InvalidInput as refused:
        raise unusable(refused) from refused
    finally:
        path.unlink(missing_ok=True)
    return Received(page, sent)


def unusable(refused: InvalidInput) -> InvalidInput:
    """What is wrong with the data of a file, as a sentence about the file."""
    words = say("The data in this file cannot be used: {problems}", problems=refused)
    return InvalidInput([FieldError(words, "", "", FIELD)])


def disagreements(received: Received, computed: str) -> tuple[TextDifference, ...]:
    """Where the file says something else than the page computed from its data.

    Of an older file, whose page had other words and pictures, the figures are compared.
    """
    compared = foreign_figures if received.page.older else differences
    return compared(received.page.pieces, read_page(computed.encode()).pieces)


def standing(store: Store, sent: SentBattery) -> Standing:
    """What keeping it would come to. Raises InvalidInput where it lies in the bin."""
    with read_session(store.engine) as session:
        return _standing(session, sent)


def keep_received(store: Store, sent: SentBattery, now: datetime) -> int:
    """Keep the battery, or add what is new to the one that came before; returns its number.

    All of it is stored or nothing. Raises InvalidInput.
    """
    with write_transaction(store.engine) as session:
        number = _standing(session, sent).battery_id
        if number is None:
            number = batteries.add(session, _own_details(sent, now)).id
            give_lasting_name(session, "battery", number, own_name(sent.uid))
        here = {one.meter.id: _keep_meter(session, one, sent) for one in sent.meters}
        for test in sent.tests:
            _keep_test(session, test, number, here, sent)
        for one in sent.events:
            if number_of(session, "event", own_name(one.uid)) is None:
                event = one.event
                made = events.add(session, number, event.on_date, event.kind, "")
                give_lasting_name(session, "event", made.id, own_name(one.uid))
        return number


def own_name(uid: str, *more: object) -> str:
    """The lasting name here of a thing that was received.

    Never the one it has at home: a file must not reach into records that are one's own.
    """
    text = ":".join(("received", uid, *map(str, more)))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _check_days(sent: SentBattery, now: datetime) -> None:
    """Nothing in it can lie ahead; clocks of two places may be a day apart."""
    latest = now.date() + timedelta(days=1)
    if not EARLIEST.date() <= sent.as_of <= latest:
        raise InvalidInput.because(
            say("as of"), sent.as_of, say("a date from 1970 to {latest}", latest=latest)
        )
    for one in sent.tests:
        check_start(one.test.details, now)


def _standing(session: Session, sent: SentBattery) -> Standing:
    number = number_of(session, "battery", own_name(sent.uid))
    if number is not None:
        try:
            batteries.get(session, number)
        except NotFound:
            words = say(
                "You received this battery before and it is in the bin; restore it there first."
            )
            raise InvalidInput([FieldError(words, "", "", FIELD)]) from None
    names = (own_name(one.uid) for one in sent.tests)
    known = sum(1 for name in names if number_of(session, "discharge", name) is not None)
    return Standing(number, len(sent.tests) - known, known)


# What is kept must not depend on the language in which it was received.
def _own_details(sent: SentBattery, now: datetime) -> BatteryDetails:
    day = day_here(now)
    notes = say(
        "Received on {day} in a file that Fadeline {version} made as of {as_of}. Its tests were "
        "done elsewhere.",
        day=day,
        version=sent.program,
        as_of=sent.as_of,
    )
    if sent.demo:
        notes += " " + say("They are invented.")
    most = longest("battery", "name") or 80
    name = f"{sent.details.name[: most - len(_MARK)]}{_MARK}"
    return replace(sent.details, name=name, notes=notes)


def _keep_meter(session: Session, one: SentMeter, sent: SentBattery) -> int:
    """The number of a meter; one whose limits were changed meanwhile counts as another."""
    about = one.meter.details
    limits = (about.kind, about.gain_limit_percent, about.offset_limit_a, about.resolution_a)
    name = own_name(one.uid, *limits)
    known = number_of(session, "meter", name)
    if known is not None:
        return known
    called = say("{meter}, received with {battery}", meter=about.name, battery=sent.details.name)[
        : longest("meter", "name")
    ]
    made = meters.add(session, replace(about, name=called))
    give_lasting_name(session, "meter", made.id, name)
    return made.id


def _keep_test(
    session: Session, one: SentTest, battery_id: int, here: dict[int, int], sent: SentBattery
) -> None:
    name = own_name(one.uid)
    if number_of(session, "discharge", name) is not None:
        return
    made = discharges.add(session, battery_id, _own_test(one, here, sent))
    give_lasting_name(session, "discharge", made.id, name)


def _own_test(one: SentTest, here: dict[int, int], sent: SentBattery) -> DischargeDetails:
    details = one.test.details
    assumptions: tuple[str, ...] = ()
    if one.thinned:
        count = len(details.readings)
        assumptions = (
            say(
                "Only {count:,} of {logged:,} readings came with the file: they were thinned "
                "evenly.",
                count=count,
                logged=one.logged,
            ),
        )
    return replace(
        details,
        meter_id=None if details.meter_id is None else here[details.meter_id],
        source=say("a received file, as of {as_of}", as_of=sent.as_of),
        assumptions=assumptions,
    )
