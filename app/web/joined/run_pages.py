"""The pages of a run for a phone that joined it: those of the owner, as far as a phone needs them.

Nothing else of a run exists here: neither its feed nor its way back after it was given up.
"""

from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import JSONResponse, Response

from app.analysis.reports.discharge_report import DischargeReport
from app.services.access import joining
from app.services.entities import discharges
from app.web.answers.run import RunStandingAnswer
from app.web.api.run_feed import api_state
from app.web.forms.form_reader import Posted
from app.web.joined.phone_guard import hand_over, held_by
from app.web.lazy_routes import LazyRouter
from app.web.pages import run_questions, runs
from app.web.rendering.rendering import Id, now_of, page, store_of

router = LazyRouter(
    prefix="/joined/{run_id}", include_in_schema=False, default_response_class=HTMLResponse
)
READING = "/readings/{reading_id}"
router.add_api_route("", runs.show_run, methods=["GET"], name="run")
router.add_api_route("/readings", runs.note_reading, methods=["POST"], name="note_reading")
router.add_api_route(READING, runs.change_reading, methods=["POST"], name="change_reading")
router.add_api_route(
    f"{READING}/answer", run_questions.answer_reading, methods=["POST"], name="answer_reading"
)
router.add_api_route(
    "/state",
    api_state,
    methods=["GET"],
    name="run_state",
    response_model=RunStandingAnswer,
    response_class=JSONResponse,
)
router.add_api_route("/abandon", runs.abandon_run, methods=["POST"], name="abandon_run")


@dataclass(frozen=True)
class EndedPage:
    """What ended_run.html needs: the test that the run became."""

    report: DischargeReport


@dataclass(frozen=True)
class LeftPage:
    """What left_test.html needs: nothing of the test."""


@router.post("/end", name="end_run")
def end_run(request: Request, run_id: Id, form: Posted) -> Response:
    """End the test and show its result, once: the session is over with it."""
    ended = runs.end_or_refuse(request, run_id, form)
    if isinstance(ended, Response):
        return ended
    report = discharges.show_discharge(store_of(request), ended.id).report
    return page(request, "ended_run.html", EndedPage(report))


@router.post("/leave", name="leave_run")
def leave_run(request: Request, run_id: Id) -> Response:
    """End this phone's session."""
    joining.leave(store_of(request), run_id, held_by(request), now_of(request))
    return hand_over(request, page(request, "left_test.html", LeftPage()), run_id, "")
