"""The trend of a battery from its report: the owner's, or the one for strangers."""

from collections.abc import Sequence
from datetime import date
from typing import Any, Protocol

from app.analysis.battery_report import TestSummary
from app.analysis.end_of_life import EndOfLife
from app.analysis.fade import Fade
from app.charts.fade_chart import fade_chart

Figure = dict[str, Any]


class DrawnEvent(Protocol):
    """What of an event is drawn."""

    @property
    def on_date(self) -> date: ...
    @property
    def label(self) -> str: ...


class DrawnBattery(Protocol):
    """What of a battery is drawn; fade and end_of_life are None where they are not shown."""

    @property
    def name(self) -> str: ...
    @property
    def rated_ah(self) -> float: ...
    @property
    def health_words(self) -> str: ...
    @property
    def tests(self) -> tuple[TestSummary, ...]: ...
    @property
    def fade(self) -> Fade | None: ...
    @property
    def end_of_life(self) -> EndOfLife | None: ...
    @property
    def events(self) -> Sequence[DrawnEvent]: ...


def battery_chart(report: DrawnBattery) -> Figure | None:
    """A Plotly figure as plain data; None where there is nothing to draw."""
    if report.fade is None or not report.tests:
        return None
    marked = [(event.on_date, event.label) for event in report.events]
    return fade_chart(report.tests, report.fade, report.end_of_life, report.rated_ah, marked)
