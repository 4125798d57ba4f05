"""Reports for print: one test, and a battery with all its tests."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.reports.printed_battery import PrintedBattery
from app.analysis.reports.printed_test import PrintedTest
from app.charts.battery_chart import fade_svg, trend_caption, trend_note
from app.charts.discharge_chart import discharge_svg
from app.domain.i18n.message import joined
from app.services.reports import printed_reports
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import Id, page, store_of, today_of
from app.web.request import reader_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
# Units of a picture across a sheet: its letters are then as large as those of the tables.
FIGURE_WIDTH = 900.0


@dataclass(frozen=True)
class Printed:
    """What the owner lets a report show. Its price is never printed."""

    serial: bool = True
    place: bool = False
    notes: bool = False
    readings: bool = True


@dataclass(frozen=True)
class TestReportPage:
    """What discharge_report.html needs; figure is SVG, empty where there is nothing to draw."""

    __test__ = False

    paper: PrintedTest
    printed: Printed
    figure: str
    program: str


@dataclass(frozen=True)
class BatteryReportPage:
    """What battery_report.html needs; figure as for a test, with its caption."""

    paper: PrintedBattery
    printed: Printed
    figure: str
    caption: str
    program: str


@router.get("/discharges/{discharge_id}/report", name="discharge_report")
def show_discharge_report(request: Request, discharge_id: Id) -> Response:
    paper = printed_reports.report_test(store_of(request), discharge_id, today_of(request))
    printed = _printed(request.query_params, Printed())
    figure = discharge_svg(paper.report, FIGURE_WIDTH, reader_of(request))
    context = TestReportPage(paper, printed, figure, program_of(request))
    return page(request, "discharge_report.html", context)


@router.get("/batteries/{battery_id}/report", name="battery_report")
def show_battery_report(request: Request, battery_id: Id) -> Response:
    paper = printed_reports.report_battery(store_of(request), battery_id, today_of(request))
    printed = _printed(request.query_params, Printed(readings=False))
    figure = fade_svg(paper.report, FIGURE_WIDTH, reader_of(request))
    caption = joined(" ", (trend_caption(paper.report), trend_note(paper.report)))
    context = BatteryReportPage(paper, printed, figure, caption, program_of(request))
    return page(request, "battery_report.html", context)


def program_of(request: Request) -> str:
    """The name and version of the program that made a report."""
    return f"{request.app.title} {request.app.version}"


def _printed(asked: Mapping[str, str], usual: Printed) -> Printed:
    """What was ticked; the usual choice where nothing was asked, for an empty box says nothing."""
    if "chosen" not in asked:
        return usual
    return Printed(
        serial="serial" in asked,
        place="place" in asked,
        notes="notes" in asked,
        readings="readings" in asked,
    )
