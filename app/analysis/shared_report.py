"""What a read-only link shows of a battery: named field by field, so that nothing slips in."""

from dataclasses import dataclass
from datetime import date

from app.analysis.battery_report import BatteryReport, TestSummary
from app.analysis.end_of_life import EndOfLife
from app.analysis.fade import Fade
from app.analysis.trend_point import TrendPoint


@dataclass(frozen=True)
class SharedEvent:
    """An event without its note."""

    on_date: date
    kind: str


@dataclass(frozen=True)
class SharedReport:
    """A battery's report for strangers: no serial number, place, price or private note."""

    name: str
    chemistry: str
    nominal_v: float
    rated_ah: float
    reserve_share: float
    threshold_words: str
    as_of: date
    health_words: str
    tests: tuple[TestSummary, ...]
    points: tuple[TrendPoint, ...]
    fade: Fade
    end_of_life: EndOfLife
    watch_words: str
    events: tuple[SharedEvent, ...]


def shared_report(report: BatteryReport) -> SharedReport:
    """Choose what strangers see."""
    return SharedReport(
        name=report.name,
        chemistry=report.chemistry,
        nominal_v=report.nominal_v,
        rated_ah=report.rated_ah,
        reserve_share=report.reserve_share,
        threshold_words=report.threshold_words,
        as_of=report.as_of,
        health_words=report.health_words,
        tests=report.tests,
        points=report.points,
        fade=report.fade,
        end_of_life=report.end_of_life,
        watch_words=report.watch.words,
        events=tuple(SharedEvent(event.on_date, event.kind.label) for event in report.events),
    )
