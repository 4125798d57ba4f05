"""What is told of a running test: all of it, where it stands, and what became of what was sent."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.analysis.battery.expected_capacity import capacity_guess
from app.analysis.counting.run_columns import RunColumns
from app.analysis.test_day.running import (
    RunningReport,
    RunProgress,
    run_progress,
    running_report,
)
from app.domain.entities.battery import Battery
from app.domain.entities.meter import Meter
from app.domain.entities.run import FormerReading, Run, RunReading, RunState
from app.domain.local_clock import day_here
from app.services.entities.batteries import build_report
from app.services.store import Store
from app.storage.repositories import batteries, meters, runs

# A page lists so many readings; more of them nobody looks through.
LISTED = 200


@dataclass(frozen=True)
class RunSummary:
    """A run as a list tells of it: how far it is, and how many readings it has."""

    run: Run
    progress: RunProgress
    count: int


@dataclass(frozen=True)
class RunView:
    """A run with its report and its newest readings in order of time, struck ones too.

    count is how many readings it has. counters says whether any of them has a counter's figure.
    last is the newest that counts. asked are those with an open question, the newest first; changed
    are all that were edited, and former is what those were before.
    """

    run: Run
    report: RunningReport
    count: int
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


def summaries_of(
    store: Store, session: Session, running: Sequence[Run], now: datetime
) -> tuple[RunSummary, ...]:
    """Those runs as a list tells of them, without those of a battery in the bin.

    The database is asked as often for many of them as for one.
    """
    by_battery = batteries.found(session, {run.battery_id for run in running})
    shown = [run for run in running if run.battery_id in by_battery]
    by_meter = meters.found(session, {run.details.meter_id for run in shown})
    noted = store.noted.columns(session, shown)
    return tuple(
        _summary(
            run, by_battery[run.battery_id], by_meter[run.details.meter_id], noted[run.id], now
        )
        for run in shown
    )


def _summary(
    run: Run, battery: Battery, meter: Meter, noted: RunColumns, now: datetime
) -> RunSummary:
    about = battery.details
    progress = run_progress(run, about.name, about, meter.details, noted, now)
    return RunSummary(run, progress, len(noted))


def view_of(store: Store, session: Session, run: Run, battery: Battery, now: datetime) -> RunView:
    """The run as it stands: all readings as columns, and single ones where they are shown."""
    about = battery.details
    noted = store.noted.columns(session, [run])[run.id]
    guess = capacity_guess(build_report(store, session, battery, day_here(now)))
    meter = meters.get(session, run.details.meter_id).details
    report = running_report(run, about.name, about, meter, noted, guess, now)
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
        count=len(noted),
        battery=battery,
        counters=bool(noted.has_counter.any()),
        readings=tuple(by_number[one] for one in listed),
        last=by_number[last[0]] if last else None,
        asked=tuple(by_number[one] for one in doubted),
        changed=tuple(one for one in shown if one.id in changed),
        former=tuple(former),
    )
