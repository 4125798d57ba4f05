"""The pages “On the road” and “Warranty and worth”."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.battery.answers import Answer
from app.analysis.nights.nights_answers import nights_answers
from app.analysis.nights.nights_report import RoadReport, RoadWish
from app.analysis.warranty.warranty_answers import warranty_answers
from app.analysis.warranty.warranty_report import WarrantyReport
from app.charts.chart import Chart
from app.charts.nights_chart import nights_chart
from app.domain import quantity
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say
from app.services.entities.batteries import get_battery
from app.services.reports import nights_report
from app.web.forms.battery_form import BatteryFormPage, form_of
from app.web.forms.form_reader import FormReader
from app.web.lazy_routes import LazyRouter
from app.web.rendering.drawn_charts import drawn
from app.web.rendering.flash_message import notice_of
from app.web.rendering.rendering import Id, page, store_of, today_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class RoadPage:
    """What road.html needs. nights is None where there is nothing to draw."""

    report: RoadReport
    answers: tuple[Answer, ...]
    form: BatteryFormPage
    nights: Chart | None
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    beside_options: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class WarrantyPage:
    """What warranty.html needs."""

    report: WarrantyReport
    answers: tuple[Answer, ...]
    form: BatteryFormPage


@router.get("/batteries/{battery_id}/road", name="road")
def show_road(request: Request, battery_id: Id) -> Response:
    store, today = store_of(request), today_of(request)
    values = dict(request.query_params)
    problems: tuple[FieldError, ...] = ()
    try:
        wish, beside = read_wish(values)
        view = nights_report.show_road(store, battery_id, wish, beside, today)
    except InvalidInput as refused:
        problems = refused.problems
        view = nights_report.show_road(store, battery_id, RoadWish(), None, today)
    report = view.report
    context = RoadPage(
        report=report,
        answers=nights_answers(report),
        form=form_of(view.battery),
        nights=drawn(
            request,
            "nights",
            view.state,
            lambda: nights_chart(report.name, report.course, report.wanted_nights),
        ),
        values=values,
        problems=problems,
        beside_options=(
            ("", say("none")),
            *((str(one.id), one.details.name) for one in view.others),
        ),
    )
    return page(request, "road.html", context, 422 if problems else 200, notice_of(request))


@router.get("/batteries/{battery_id}/warranty", name="warranty")
def show_warranty(request: Request, battery_id: Id) -> Response:
    store = store_of(request)
    report = nights_report.show_warranty(store, battery_id, today_of(request))
    context = WarrantyPage(
        report, warranty_answers(report), form_of(get_battery(store, battery_id))
    )
    return page(request, "warranty.html", context, notice=notice_of(request))


def read_wish(values: Mapping[str, str]) -> tuple[RoadWish, int | None]:
    """The day, the nights and the second battery that are asked about. Raises InvalidInput."""
    form = FormReader(values)
    day = form.optional_day("on", say("date"), date(9000, 1, 1))
    nights = form.optional_number("nights", quantity.NIGHTS)
    beside = form.raw("beside")
    known = beside.isascii() and beside.isdigit() and len(beside) < 18
    if beside and not known:
        form.refuse(say("second battery"), beside, say("one of the batteries listed"), "beside")
    form.finish()
    return RoadWish(day, nights), int(beside) if beside else None
