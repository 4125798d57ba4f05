"""The trend of a battery from its report: the owner's, or the one for strangers."""

from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import Protocol

from app.analysis.battery.battery_report import TestSummary
from app.analysis.fade.fade import Fade
from app.analysis.projection.end_of_life import EndOfLife
from app.charts.chart import Chart, sentence
from app.charts.fade_chart import fade_figure
from app.charts.localized_figure import read_figure
from app.charts.projection_marks import drawn_end
from app.charts.svg_figure import figure_svg
from app.charts.theme import Figure
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import ENGLISH, Reader, joined, say, say_plural


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
    def newest_words(self) -> str: ...
    @property
    def tests(self) -> tuple[TestSummary, ...]: ...
    @property
    def fade(self) -> Fade | None: ...
    @property
    def end_of_life(self) -> EndOfLife | None: ...
    @property
    def events(self) -> Sequence[DrawnEvent]: ...
    @property
    def as_of(self) -> date: ...


def battery_figure(report: DrawnBattery, reader: Reader = ENGLISH) -> Figure | None:
    """A Plotly figure as plain data; None where there is nothing to draw."""
    return _figure(report, report.fade, reader) if report.fade and report.tests else None


def _figure(report: DrawnBattery, fade: Fade, reader: Reader) -> Figure:
    end = None if report.end_of_life is None else drawn_end(report.end_of_life)
    marked = [(event.on_date, event.label) for event in report.events]
    return fade_figure(report.tests, fade, end, report.rated_ah, marked, report.as_of, reader)


def trend_chart(report: DrawnBattery, name: str = "fade") -> Chart | None:
    """The trend with its sentence and its numbers, for a page; None where nothing is drawn."""
    if report.fade is None or not report.tests:
        return None
    draw = partial(_figure, report, report.fade)
    return Chart(
        name, _title(report), trend_words(report), draw, trend_caption(report), trend_note(report)
    )


def fade_svg(report: DrawnBattery, width: float | None = None, reader: Reader = ENGLISH) -> str:
    """The very same figure for paper and for files; empty where no test is shown.

    width is in units of the picture, in which letters are 13 high: 680 suits a sheet of paper.
    Without one the picture suits every width.
    """
    figure = battery_figure(report, reader)
    if figure is None or report.fade is None:
        return ""
    said = [report.newest_words, report.fade.words]
    if report.end_of_life is not None:
        said.append(report.end_of_life.words)
    drawn = read_figure(figure, reader)
    return figure_svg(drawn, _title(report), joined(" ", said), width, reader)


def trend_caption(report: DrawnBattery) -> str:
    """One line that says what the marks of this trend mean."""
    shown = {test.kind for test in report.tests if not test.left_out_reason}
    said = []
    if EvidenceKind.MEASURED in shown:
        said.append(say("Dots: measured; bars very likely hold the true value."))
    if EvidenceKind.AT_LEAST in shown:
        said.append(say("Arrow: at least this much."))
    if any(test.only_result and not test.left_out_reason for test in report.tests):
        said.append(say("Diamonds: only the result was noted."))
    if any(test.left_out_reason for test in report.tests):
        said.append(say("Rings: left out."))
    if _goes_on(report.end_of_life):
        said.append(say("Shaded: 9 in 10 such batteries; inner part: 5 in 10."))
        if report.end_of_life is not None and report.end_of_life.p50 is None:
            # Otherwise it is named where it reaches the threshold.
            said.append(say("Dotted: the middle."))
    return joined(" ", said)


def trend_note(report: DrawnBattery) -> str:
    """How exactly the marks of this trend are meant."""
    note = say(
        "Each bar is a 95 % interval: if the meters keep their stated limits, it holds the true "
        "value in 95 of 100 such tests. A dash with an arrow is a lower bound: the true value "
        "lies above it, by an unknown amount."
    )
    if not _goes_on(report.end_of_life):
        return note
    fan = say(
        "The fan after the last test holds the true capacity in 90 of 100 cases, its inner part "
        "in 50; where one meter made all tests, its gain error comes on top and moves tests and "
        "fan alike. The bar on the limit is the time in which 90 % of such batteries reach it; by "
        "its middle mark, half of them have."
    )
    return joined(" ", (note, fan))


def _goes_on(end: EndOfLife | None) -> bool:
    """Whether a projection is drawn."""
    return end is not None and bool(drawn_end(end).fan)


def _title(report: DrawnBattery) -> str:
    return say("Capacity of {name} over the years, in Ah", name=report.name)


def trend_words(report: DrawnBattery) -> str:
    """What the trend shows, in one sentence; report has at least one test."""
    measured = sum(1 for test in report.tests if test.kind is EvidenceKind.MEASURED)
    bounds = sum(1 for test in report.tests if test.kind is EvidenceKind.AT_LEAST)
    first, last = report.tests[0].started_at, report.tests[-1].started_at
    days = say("from {first:%B %Y} to {last:%B %Y}", first=first, last=last)
    if len(report.tests) == 1:
        days = say("in {only:%B %Y}", only=first)
    said = [joined(" ", (_counts(measured, bounds), days)), report.newest_words]
    if report.fade is not None:
        said.append(report.fade.words)
    if report.end_of_life is not None:
        said.append(say("limit reached: {when}", when=report.end_of_life.words))
    return sentence(*said)


def _counts(measured: int, bounds: int) -> str:
    parts = []
    if measured:
        parts.append(say_plural("1 measured test", "{count} measured tests", measured))
    if bounds:
        parts.append(say_plural("1 lower bound", "{count} lower bounds", bounds))
    if len(parts) == 2:
        return say("{measured} and {bounds}", measured=parts[0], bounds=parts[1])
    return parts[0] if parts else say("No result")
