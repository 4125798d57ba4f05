"""What is told of a running test: all of it, where it stands, and what became of what was sent."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.analysis.battery.expected_capacity import capacity_guess
from app.analysis.counting.run_columns import RunColumns
from app.analysis.test_day.running import RunningReport, running_report
from app.domain.entities.battery import Battery
from app.domain.entities.run import FormerReading, Run, RunReading, RunState
from app.domain.local_clock import day_here
from app.services.entities.batteries import build_report
from app.services.store import Store
from app.storage.repositories import meters, runs

# A page lists so many readings; more of them nobody looks through.
LISTED = 200


@dataclass(frozen=True)
class RunSummary:
    """A run with its report, and how many readings it has."""

    run: Run
    report: RunningReport
    count: int


@dataclass(frozen=True)
class RunView(RunSummary):
    """A run with its report and its newest readings in order of time, struck ones too.

    counters says whether any of its readings has a counter's figure. last is the newest that
    counts. asked are those with an open question, the newest first; changed are all that were
    edited, and former is what those were before.
    """

    battery: Battery
    counters: bool
    readings: tuple[RunReading, ...]
    last: RunReading | None
    asked: tuple[RunReading, ...]
    changed: tuple[RunReading, ...]
    former: tuple[FormerReading, ...]


@dataclass(frozen=True)
class Fed:
    """What became of readings that were sent: stored now, or known already."""

    stored: int
    known: int


@dataclass(frozen=True)
class RunStanding:
    """What tells a page that it is out of date."""

    state: RunState
    readings: int


def summary_of(
    store: Store, session: Session, run: Run, battery: Battery, now: datetime
) -> RunSummary:
    """The run as a list tells of it."""
    return _summary(store, session, run, battery, store.noted.columns(session, run.id), now)


def _summary(
    store: Store, session: Session, run: Run, battery: Battery, noted: RunColumns, now: datetime
) -> RunSummary:
    about = battery.details
    guess = capacity_guess(build_report(store, session, battery, day_here(now)))
    meter = meters.get(session, run.details.meter_id).details
    report = running_report(run, about.name, about, meter, noted, guess, now)
    return RunSummary(run, report, len(noted))


def view_of(store: Store, session: Session, run: Run, battery: Battery, now: datetime) -> RunView:
    """The run as it stands: all readings as columns, and single ones where they are shown."""
    noted = store.noted.columns(session, run.id)
    summary = _summary(store, session, run, battery, noted, now)
    report = summary.report
    former = runs.former_readings(session, run.id)
    listed = [int(one) for one in noted.ids[-LISTED:]]
    counting = noted.counting.ids[-1:]
    last = [int(one) for one in counting]
    doubted = dict.fromkeys(one.reading_id for one in reversed(report.questions))
    changed = {one.reading_id for one in former}
    shown = runs.readings_numbered(session, run.id, {*listed, *last, *doubted, *changed})
    by_number = {one.id: one for one in shown}
    return RunView(
        run=run,
        report=report,
        count=summary.count,
        battery=battery,
        counters=bool(noted.has_counter.any()),
        readings=tuple(by_number[one] for one in listed),
        last=by_number[last[0]] if last else None,
        asked=tuple(by_number[one] for one in doubted),
        changed=tuple(one for one in shown if one.id in changed),
        former=tuple(former),
    )
