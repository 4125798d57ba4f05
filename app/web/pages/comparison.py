"""The page that compares batteries, or one before and after a move. Its address can be kept."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.battery.answers import Answer
from app.analysis.comparison.comparison_answers import comparison_answers
from app.analysis.comparison.comparison_report import ComparisonReport
from app.charts.chart import Chart
from app.charts.comparison_chart import overlaid_curves_chart, trends_chart
from app.domain.entities.battery import Battery
from app.domain.errors import FieldError, InvalidInput
from app.domain.limits import MAX_NAME_LENGTH
from app.services.entities import batteries
from app.services.reports import comparison
from app.services.reports.comparison import RecordedMove
from app.web.forms.comparison_form import SHOW, read_comparison
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import page, store_of, today_of
from app.web.request import query_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
FIELDS = ("moved_on", "show")


@dataclass(frozen=True)
class ComparisonPage:
    """What comparison.html needs. report is None until something that can be compared is chosen.

    trends are the charts of the report's axes, in their order; chosen are numbers as sent. listed
    are the batteries to choose from: the chosen ones and those whose name holds find.
    """

    report: ComparisonReport | None
    answers: tuple[Answer, ...]
    trends: tuple[Chart, ...]
    curves: Chart | None
    kept: tuple[Battery, ...]
    listed: tuple[Battery, ...]
    find: str
    is_long: bool
    chosen: frozenset[str]
    moves: tuple[RecordedMove, ...]
    query: str
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]


@router.get("/comparison", name="comparison")
def show_comparison(request: Request) -> Response:
    asked, store = request.query_params, store_of(request)
    chosen = asked.getlist("battery")
    values = {"show": SHOW, **{name: asked[name] for name in FIELDS if name in asked}}
    report: ComparisonReport | None = None
    problems: tuple[FieldError, ...] = ()
    find = asked.get("find", "").strip()[:MAX_NAME_LENGTH]
    looks = "choose" in asked or (find and len(chosen) < 2 and not asked.get("moved_on"))
    # "start" only ticks a battery, for whoever comes from its page.
    if not looks and (chosen or any(name in asked for name in FIELDS)):
        try:
            wish = read_comparison(chosen, values, today_of(request))
            report = comparison.compare(store, wish, today_of(request))
        except InvalidInput as refused:
            problems = refused.problems
    kept = tuple(batteries.kept_batteries(store))
    ticked = frozenset((*chosen, *asked.getlist("start")))
    context = ComparisonPage(
        report=report,
        answers=comparison_answers(report) if report else (),
        trends=() if report is None else _trends(report),
        curves=overlaid_curves_chart(report.curves) if report else None,
        kept=kept,
        listed=tuple(
            one
            for one in kept
            if str(one.id) in ticked or find.casefold() in one.details.name.casefold()
        ),
        find=find,
        is_long=len(kept) > batteries.A_PAGE,
        chosen=ticked,
        moves=comparison.recorded_moves(store),
        query=query_of(request),
        values=values,
        problems=problems,
    )
    return page(request, "comparison.html", context, 422 if problems else 200)


def _trends(report: ComparisonReport) -> tuple[Chart, ...]:
    numbered = enumerate(report.axes, start=1)
    return tuple(trends_chart(report.sides, axis, number) for number, axis in numbered)
