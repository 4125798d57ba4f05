"""The charts of pages as SVG, for paper and for files: drawn from the very same figures."""

from app.charts.battery_chart import DrawnBattery, battery_figure
from app.charts.discharge_chart import NamedTest, discharge_figure
from app.charts.localized_figure import read_figure
from app.charts.svg_figure import NARROW, figure_svg
from app.domain.i18n.message import ENGLISH, Reader, joined, long_day, say

_TREND_HEIGHT = 280.0
_COURSE_HEIGHT, _FURTHER_PANEL = 190.0, 85.0


def fade_svg(report: DrawnBattery, width: float = NARROW, reader: Reader = ENGLISH) -> str:
    """The trend with its tests; empty where no test is shown.

    width is in units of the picture, in which letters are 14 high: the default suits a telephone,
    680 a page or a sheet of paper.
    """
    figure = battery_figure(report)
    if figure is None or report.fade is None:
        return ""
    said = [report.newest_words, report.fade.words]
    if report.end_of_life is not None:
        said.append(report.end_of_life.words)
    title = say("Capacity of {name} over the years, in Ah", name=report.name)
    return figure_svg(
        read_figure(figure, reader), title, joined(" ", said), _TREND_HEIGHT, width, reader
    )


def discharge_svg(report: NamedTest, width: float = NARROW, reader: Reader = ENGLISH) -> str:
    """One test: charge left against what to expect, voltage and temperature over time; empty
    where it has no readings under load. width as in fade_svg."""
    if not report.rows:
        return ""
    figure = discharge_figure(report)
    panels = sum(1 for name in figure["layout"] if name.startswith("yaxis"))
    title = say("Capacity test of {day}", day=long_day(report.started_at))
    said = say(
        "{headline}. The dashed line is what the rated {rated_ah:g} Ah promise at this "
        "steady current, the solid line is rated less the amp-hours counted.",
        headline=report.headline,
        rated_ah=report.rated_ah,
    )
    height = _COURSE_HEIGHT + _FURTHER_PANEL * (panels - 1)
    return figure_svg(read_figure(figure, reader), title, said, height, width, reader)
