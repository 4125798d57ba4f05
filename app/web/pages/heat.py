"""The page that asks whether the heat is to blame, and where the battery lived."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.battery.answers import Answer
from app.analysis.heat.heat_answers import HeatStep, heat_answers, heat_step
from app.analysis.heat.heat_report import HeatReport
from app.charts.chart import Chart
from app.charts.heat_chart import temperature_calendar_chart, temperature_hours_chart
from app.domain.chemistry import Chemistry
from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.services.entities import places
from app.services.reports import heat
from app.services.reports.heat import HeatView
from app.web.answers.heat import HeatAnswer
from app.web.forms.battery_form import BatteryFormPage, form_of
from app.web.forms.form_reader import FormReader, Posted, texts
from app.web.lazy_routes import LazyRouter
from app.web.rendering.drawn_charts import drawn
from app.web.rendering.flash_message import notice_of
from app.web.rendering.rendering import Id, page, see_other, store_of, today_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
api = LazyRouter(prefix="/api", tags=["reports"])


@dataclass(frozen=True)
class HeatPage:
    """What heat.html needs. The charts are None where there is nothing to draw."""

    view: HeatView
    answers: tuple[Answer, ...]
    step: HeatStep
    hours: Chart | None
    calendar: Chart | None
    form: BatteryFormPage
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]


@router.get("/batteries/{battery_id}/heat", name="heat")
def show_heat(request: Request, battery_id: Id) -> Response:
    return _page(request, battery_id, {}, ())


@router.post("/batteries/{battery_id}/stays", name="add_stay")
def add_stay(request: Request, battery_id: Id, form: Posted) -> Response:
    values = texts(form)
    reader = FormReader(values)
    from_date = reader.day("from_date", say("first day there"), today_of(request))
    known = {str(one.place.id): one.place.id for one in places.list_places(store_of(request))}
    place = known.get(reader.raw("place_id"))
    try:
        reader.finish()
        if place is None:
            allowed = say("one of your places")
            raise InvalidInput.because(say("place"), reader.raw("place_id"), allowed, "place_id")
        places.move_battery(store_of(request), battery_id, place, from_date)
    except FadelineError as error:
        return _page(request, battery_id, values, problems_of(error))
    return see_other(request, "heat", battery_id=battery_id)


@api.get("/batteries/{battery_id}/heat", response_model=HeatAnswer)
def api_heat(request: Request, battery_id: Id) -> HeatReport:
    """Time at temperature, and what it would explain of the fade."""
    return heat.show_heat(store_of(request), battery_id, today_of(request)).report


def _page(
    request: Request, battery_id: int, values: Mapping[str, str], problems: tuple[FieldError, ...]
) -> Response:
    view = heat.show_heat(store_of(request), battery_id, today_of(request))
    report, about = view.report, view.battery.details
    context = HeatPage(
        view=view,
        answers=heat_answers(report, about.rated_ah),
        step=heat_step(report, lfp=about.chemistry is Chemistry.LFP),
        hours=drawn(
            request,
            "hours",
            view.state,
            lambda: temperature_hours_chart(report.name, report.hours_by_degree),
        ),
        calendar=drawn(
            request,
            "calendar",
            view.state,
            lambda: temperature_calendar_chart(report.name, report.months),
        ),
        form=form_of(view.battery),
        values=values,
        problems=problems,
    )
    status = 422 if problems else 200
    return page(request, "heat.html", context, status, notice_of(request))
