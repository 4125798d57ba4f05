"""The JSON interface: the same reports as the pages, read-only."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison_report import ComparisonReport
from app.analysis.nights.nights_report import RoadReport
from app.analysis.reports.discharge_report import DischargeReport
from app.analysis.warranty.warranty_report import WarrantyReport
from app.domain.limits import MAX_NAME_LENGTH
from app.services.entities import batteries, discharges
from app.services.reports import comparison, nights_report
from app.web.answers.battery import BatteryAnswer
from app.web.answers.comparison import ComparisonAnswer
from app.web.answers.discharge import DischargeAnswer
from app.web.answers.road import RoadAnswer
from app.web.answers.warranty import WarrantyAnswer
from app.web.forms.comparison_form import SHOW, read_comparison
from app.web.lazy_routes import LazyRouter
from app.web.pages.nights import read_wish
from app.web.rendering.rendering import MAX_BATTERIES, Id, path_within, store_of, today_of

router = LazyRouter(prefix="/api", tags=["reports"])


@router.get("/batteries", response_model=list[BatteryAnswer])
def api_batteries(
    request: Request,
    response: Response,
    find: Annotated[str, Query(max_length=MAX_NAME_LENGTH, description="A part of the name.")] = "",
    first: Annotated[int, Query(ge=0, le=MAX_BATTERIES, description="How many are skipped.")] = 0,
    most: Annotated[int, Query(ge=1, le=500, description="How many are answered.")] = 500,
) -> list[BatteryReport]:
    """Batteries with their tests, fade and projected end of life, by name.

    Where there are more than fit, the header Link says where they go on (RFC 8288).
    """
    listing = batteries.list_batteries(store_of(request), today_of(request), find, first, most)
    if listing.last < listing.found:
        following = urlencode({"find": find, "first": listing.last, "most": most})
        response.headers["Link"] = f'<{path_within(request)}?{following}>; rel="next"'
    return list(listing.shown)


@router.get("/batteries/{battery_id}", response_model=BatteryAnswer)
def api_battery(request: Request, battery_id: Id) -> BatteryReport:
    """One battery."""
    return batteries.show_battery(store_of(request), battery_id, today_of(request)).report


@router.get("/batteries/{battery_id}/road", response_model=RoadAnswer)
def api_road(
    request: Request,
    battery_id: Id,
    on: Annotated[str, Query(description="A day, such as 2028-06-01.")] = "",
    nights: Annotated[str, Query(description="How many are wanted.")] = "",
    beside: Annotated[str, Query(description="Number of a second battery.")] = "",
) -> RoadReport:
    """Nights without charging: now, in a cold week, on a day, with a second battery."""
    wish, other = read_wish({"on": on, "nights": nights, "beside": beside})
    view = nights_report.show_road(store_of(request), battery_id, wish, other, today_of(request))
    return view.report


@router.get("/batteries/{battery_id}/warranty", response_model=WarrantyAnswer)
def api_warranty(request: Request, battery_id: Id) -> WarrantyReport:
    """Whether the evidence carries a warranty claim, and what was paid for a kWh so far."""
    return nights_report.show_warranty(store_of(request), battery_id, today_of(request))


@router.get("/discharges/{discharge_id}", response_model=DischargeAnswer)
def api_discharge(request: Request, discharge_id: Id) -> DischargeReport:
    """One capacity test."""
    return discharges.show_discharge(store_of(request), discharge_id).report


@router.get("/comparison", response_model=ComparisonAnswer)
def api_comparison(
    request: Request,
    battery: Annotated[list[str], Query(description="Numbers of batteries, one each time.")] = [],  # noqa: B006
    moved_on: Annotated[str, Query(description="Day of the move of a single battery.")] = "",
    show: Annotated[
        str, Query(description="The difference to find, in points of % of rated a year.")
    ] = SHOW,
) -> ComparisonReport:
    """Batteries beside one another, or one before and after the date of a move."""
    today = today_of(request)
    wish = read_comparison(battery, {"moved_on": moved_on, "show": show}, today)
    return comparison.compare(store_of(request), wish, today)
