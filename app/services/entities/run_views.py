"""What is told of a running test: all of it, where it stands, and what became of what was sent."""

from dataclasses import dataclass

from app.analysis.test_day.running import RunningReport
from app.domain.entities.battery import Battery
from app.domain.entities.run import FormerReading, Run, RunReading, RunState


@dataclass(frozen=True)
class RunView:
    """A run with its report and all its readings, struck ones too, and what those were before."""

    run: Run
    battery: Battery
    readings: tuple[RunReading, ...]
    report: RunningReport
    former: tuple[FormerReading, ...] = ()


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
