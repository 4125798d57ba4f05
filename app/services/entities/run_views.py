"""What is told of a running test: all of it, where it stands, and what became of what was sent."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.analysis.battery.expected_capacity import ExpectedCapacity
from app.analysis.test_day.running import RunningReport, running_report
from app.domain.entities.battery import Battery
from app.domain.entities.meter import MeterDetails
from app.domain.entities.run import FormerReading, Run, RunReading, RunState
from app.services.store import Store
from app.storage.repositories import runs

# A page lists so many readings; more of them nobody looks through.
LISTED = 200


@dataclass(frozen=True)
class RunView:
    """A run with its report and its newest readings in order of time, struck ones too.

    count is how many it has in all, counters says whether any of them has a counter's figure. last
    is the newest that counts. asked are those with an open question, the newest first; changed are
    all that were edited, and former is what those were before.
    """

    run: Run
    battery: Battery
    report: RunningReport
    count: int
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


def view_of(
    store: Store,
    session: Session,
    run: Run,
    battery: Battery,
    meter: MeterDetails,
    guess: ExpectedCapacity,
    now: datetime,
) -> RunView:
    """The run as it stands: all readings as columns, and single ones where they are shown."""
    noted = store.noted.columns(session, run.id)
    about = battery.details
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
        battery=battery,
        report=report,
        count=len(noted),
        counters=bool(noted.has_counter.any()),
        readings=tuple(by_number[one] for one in listed),
        last=by_number[last[0]] if last else None,
        asked=tuple(by_number[one] for one in doubted),
        changed=tuple(one for one in shown if one.id in changed),
        former=tuple(former),
    )
