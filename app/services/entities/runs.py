"""Use cases around a running test: begin, note, correct, feed, end."""

import secrets
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from sqlmodel import Session

from app.analysis.evidence.result import analyse_test
from app.domain.entities.discharge import Discharge, EndReason
from app.domain.entities.run import (
    ReadingGiven,
    Run,
    RunDetails,
    RunReading,
    RunState,
)
from app.domain.errors import InvalidInput, NotFound
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.services.entities.doubts import with_answers_of_run
from app.services.entities.finished_run import as_test, end_by_the_clock
from app.services.entities.meters import MeterChoice, settle
from app.services.entities.run_clock import CLOCKS_DIFFER, check_moment
from app.services.entities.run_views import (
    Fed,
    RunStanding,
    RunSummary,
    RunView,
    summaries_of,
    view_of,
)
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, discharges, meters, runs

FEED_BYTES = 24
MAX_FED = 5_000
MAX_READINGS = 200_000
_STANDS = {
    RunState.RUNNING: N_("one that is running"),
    RunState.FINISHED: N_("one that has ended"),
}
_STOOD = {
    RunState.FINISHED: N_("one that has ended"),
    RunState.ABANDONED: N_("one that was given up"),
}


def start_run(
    store: Store, battery_id: int, details: RunDetails, meter: MeterChoice, now: datetime
) -> Run:
    """Begin a test. Raises NotFound, and InvalidInput while one of this battery is running."""
    with write_transaction(store.engine) as session:
        batteries.get(session, battery_id)
        _refuse_second(session, battery_id)
        if details.started_at > now + CLOCKS_DIFFER:
            raise InvalidInput.because(
                say("start"),
                say("{moment}", moment=details.started_at.astimezone()),
                say("a moment up to now ({now})", now=now.astimezone()),
                "started_at",
            )
        known = settle(session, meter)
        return runs.add(session, battery_id, replace(details, meter_id=known.id))


def show_run(store: Store, run_id: int, now: datetime) -> RunView:
    """A run as it stands. Raises NotFound."""
    with read_session(store.engine) as session:
        run = runs.get(session, run_id)
        battery = batteries.get(session, run.battery_id)
        return view_of(store, session, run, battery, now)


def get_run(store: Store, run_id: int) -> Run:
    """A run without its readings. Raises NotFound, as where its battery lies in the bin."""
    with read_session(store.engine) as session:
        run = runs.get(session, run_id)
        batteries.get(session, run.battery_id)
        return run


def get_reading(store: Store, run_id: int, reading_id: int) -> RunReading:
    """One reading of a run. Raises NotFound."""
    with read_session(store.engine) as session:
        return runs.reading(session, run_id, reading_id)


def show_standing(store: Store, run_id: int) -> RunStanding:
    """Raises NotFound."""
    with read_session(store.engine) as session:
        run = runs.get(session, run_id)
        return RunStanding(run.state, runs.count_readings(session, run_id))


def show_running(store: Store, now: datetime) -> tuple[RunSummary, ...]:
    """Every test that runs now, as it stands; none of a battery in the bin."""
    with read_session(store.engine) as session:
        return summaries_of(store, session, runs.running(session), now)


def with_open_questions(store: Store, candidates: Sequence[Run], now: datetime) -> frozenset[int]:
    """Which of these tests run and have a reading that is asked about."""
    running = [run for run in candidates if run.state is RunState.RUNNING]
    if not running:
        return frozenset()
    with read_session(store.engine) as session:
        summaries = summaries_of(store, session, running, now)
    return frozenset(one.run.id for one in summaries if one.progress.questions)


def note_reading(
    store: Store, run_id: int, given: ReadingGiven, now: datetime, *, timed: bool = True
) -> Fed:
    """Store one reading from a page. The same one twice is stored once.

    One whose time was not typed (timed is False) goes to the next free second where another device
    noted something else in the same one.
    """
    with write_transaction(store.engine) as session:
        if not timed:
            given = _in_free_second(session, run_id, given)
        return _take(session, run_id, [given], "page", now)


def _in_free_second(session: Session, run_id: int, given: ReadingGiven) -> ReadingGiven:
    taken = runs.reading_at(session, run_id, given.at)
    while taken is not None and taken.given.values != given.values:
        given = replace(given, at=given.at + timedelta(seconds=1))
        taken = runs.reading_at(session, run_id, given.at)
    return given


def feed_readings(
    store: Store, run_id: int, token: str, given: Sequence[ReadingGiven], now: datetime
) -> Fed:
    """Store readings from a feed, all or none, in any order. Raises NotFound for a wrong token."""
    if len(given) > MAX_FED:
        allowed = say("at most {most} at once", most=MAX_FED)
        raise InvalidInput.because(say("readings"), len(given), allowed)
    with write_transaction(store.engine) as session:
        if not runs.feeds(session, run_id, token):
            raise NotFound(say("There is no such running test, or this word does not open it."))
        return _take(session, run_id, given, "feed", now)


def correct_reading(
    store: Store, run_id: int, reading_id: int, given: ReadingGiven, now: datetime
) -> RunReading:
    """Correct a reading; what was there is kept. Raises InvalidInput and NotFound."""
    with write_transaction(store.engine) as session:
        run = open_run(session, run_id)
        check_moment(run, given, now)
        other = runs.reading_at(session, run_id, given.at)
        if other is not None and other.id != reading_id:
            allowed = say("a moment without another reading")
            found = say("{moment}", moment=given.at.astimezone(run.details.zone))
            raise InvalidInput.because(say("time"), found, allowed, "at")
        return runs.change_reading(session, run_id, reading_id, now, given=given)


def strike_reading(
    store: Store, run_id: int, reading_id: int, reason: str, now: datetime
) -> RunReading:
    """Strike a reading out with a reason, or take it back with an empty one."""
    with write_transaction(store.engine) as session:
        open_run(session, run_id)
        return runs.change_reading(session, run_id, reading_id, now, struck_reason=reason)


def open_feed(store: Store, run_id: int) -> str:
    """Make the word with which a feed may write to this run; the one before it is closed."""
    token = secrets.token_urlsafe(FEED_BYTES)
    with write_transaction(store.engine) as session:
        open_run(session, run_id)
        runs.set_feed(session, run_id, token)
    return token


def close_feed(store: Store, run_id: int) -> Run:
    """Forget the word of the feed: nothing can be sent with it any more. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return runs.set_feed(session, run_id, None)


def end_run(
    store: Store,
    run_id: int,
    end_reason: EndReason,
    ended_at: datetime | None,
) -> Discharge:
    """Make a test of a run. Raises InvalidInput where its readings are none; then it runs on."""
    with write_transaction(store.engine) as session:
        run = open_run(session, run_id)
        given = runs.readings(session, run_id)
        battery = batteries.get(session, run.battery_id)
        tests = discharges.of_battery(session, run.battery_id)
        details = as_test(run, given, end_reason, ended_at)
        details = with_answers_of_run(details, battery, tests, given)
        meter = meters.get(session, run.details.meter_id)
        try:
            analyse_test(details, battery.details, meter.details)
        except InvalidInput as refused:
            raise InvalidInput(end_by_the_clock(refused.problems, run, details)) from refused
        test = discharges.add(session, run.battery_id, details)
        runs.settle(session, run_id, RunState.FINISHED, test.id)
        return test


def resume_run(store: Store, run_id: int) -> Run:
    """Go on with a run that was given up. Raises InvalidInput while another of the battery runs."""
    with write_transaction(store.engine) as session:
        run = runs.get(session, run_id)
        if run.state is not RunState.ABANDONED:
            found, allowed = say(_STANDS[run.state]), say("one that was given up")
            raise InvalidInput.because(say("running test"), found, allowed)
        batteries.get(session, run.battery_id)
        _refuse_second(session, run.battery_id)
        return runs.settle(session, run_id, RunState.RUNNING)


def _refuse_second(session: Session, battery_id: int) -> None:
    for run in runs.of_battery(session, battery_id):
        if run.state is RunState.RUNNING:
            started = run.details.started_at.astimezone(run.details.zone)
            raise InvalidInput.saying(
                say(
                    "End the running test first, or give it up: it began on {started}. A battery "
                    "has one running test at a time.",
                    started=started,
                )
            )


def abandon_run(store: Store, run_id: int) -> Run:
    """Give a run up. Its readings stay with it, and it can be taken up again."""
    with write_transaction(store.engine) as session:
        open_run(session, run_id)
        return runs.settle(session, run_id, RunState.ABANDONED)


def _take(
    session: Session, run_id: int, given: Sequence[ReadingGiven], source: str, now: datetime
) -> Fed:
    run = open_run(session, run_id)
    moments = [one.at for one in given]
    # Only what lies between them: a run of days holds many thousands.
    beside = runs.readings_between(session, run_id, min(moments), max(moments)) if given else []
    taken = {one.given.at: one for one in beside}
    fresh: dict[datetime, ReadingGiven] = {}
    known = 0
    for one in given:
        check_moment(run, one, now)
        stored = taken.get(one.at)
        before = fresh.get(one.at) if stored is None else stored.given
        if before is None:
            fresh[one.at] = one
        elif before.values == one.values:
            known += 1
        else:
            if stored is not None and stored.struck_reason:
                allowed = say(
                    "another time: that one already has a reading with other values, struck out; "
                    "let it count again first"
                )
            else:
                allowed = say(
                    "another time: that one already has a reading with other values; correct it "
                    "instead"
                )
            clock = one.at.astimezone(run.details.zone)
            found = say("{current_a:g} A at {clock:%H:%M:%S}", current_a=one.current_a, clock=clock)
            raise InvalidInput.because(say("reading"), found, allowed, "at")
    total = runs.count_readings(session, run_id) + len(fresh)
    if total > MAX_READINGS:
        allowed = say("at most {most} a test", most=MAX_READINGS)
        raise InvalidInput.because(say("readings"), total, allowed)
    runs.add_readings(session, run_id, list(fresh.values()), source)
    return Fed(len(fresh), known)


def open_run(session: Session, run_id: int) -> Run:
    """A run that still takes readings. Raises InvalidInput and NotFound."""
    run = runs.get(session, run_id)
    if run.state is not RunState.RUNNING:
        found, allowed = say(_STOOD[run.state]), say("one that is running")
        raise InvalidInput.because(say("running test"), found, allowed)
    return run
