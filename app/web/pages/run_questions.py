"""Answers to what is asked about the readings of a running test."""

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import FadelineError
from app.services.entities.run_questions import answer_question
from app.web.forms.form_reader import Posted, texts
from app.web.lazy_routes import LazyRouter
from app.web.pages.runs import problems_here, run_page
from app.web.rendering.rendering import Id, now_of, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.post("/runs/{run_id}/readings/{reading_id}/answer", name="answer_reading")
def answer_reading(request: Request, run_id: Id, reading_id: Id, form: Posted) -> Response:
    """Mean a reading as it stands, or correct it by one press."""
    answer, store = texts(form).get("answer", ""), store_of(request)
    named = (one for one in form.getlist("together") if isinstance(one, str))
    together = {int(one) for one in named if _is_number(one)}
    try:
        answer_question(store, run_id, reading_id, answer, now_of(request), together)
    except FadelineError as error:
        return run_page(request, run_id, {}, problems_here(error))
    return see_other(request, "run", run_id=run_id)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 10
