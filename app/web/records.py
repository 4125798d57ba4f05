"""The page about the records as a whole: their backups and where these go."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.domain.errors import FadelineError, Problem, Refused, problems_of
from app.domain.saying import say
from app.services import backups
from app.services.backups import FOLDER_FIELD, BackupsView
from app.web.form import FormReader, posted, texts
from app.web.pages import now_of, page, see_other, settings_of, store_of

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)
Posted = Annotated[FormData, Depends(posted)]


@dataclass(frozen=True)
class RecordsPage:
    """What records.html needs. backups is None in the demo, which makes none."""

    database: Path
    backups: BackupsView | None
    now: datetime
    values: Mapping[str, str]
    problems: tuple[Problem, ...]


@router.get("/records", name="records")
def show_records(request: Request) -> Response:
    return records_page(request, None, ())


@router.post("/records/backups", name="back_up")
def back_up(request: Request) -> Response:
    """Make a backup now; how it went stands on the page."""
    _refuse_in_demo(request)
    outcome = backups.back_up(store_of(request).engine, now_of(request))
    if outcome.path is None:
        return records_page(request, None, (Problem(outcome.trouble, "", ""),))
    return see_other(request, "records")


@router.post("/records/folder", name="choose_backup_folder")
def choose_folder(request: Request, form: Posted) -> Response:
    """Keep backups elsewhere from now on, beginning with one that shows that it works."""
    _refuse_in_demo(request)
    values, engine = texts(form), store_of(request).engine
    reader = FormReader(values)
    folder = reader.text(FOLDER_FIELD, "folder of backups", 1000)
    try:
        reader.finish()
        backups.choose_folder(engine, folder)
    except FadelineError as error:
        return records_page(request, values, problems_of(error))
    return back_up(request)


def records_page(
    request: Request, values: Mapping[str, str] | None, problems: tuple[Problem, ...]
) -> Response:
    """The page; values and problems are those of its forms, if refused."""
    engine = store_of(request).engine
    view = None if settings_of(request).demo else backups.show_backups(engine)
    if values is None:
        chosen = None if view is None else view.chosen
        values = {FOLDER_FIELD: "" if chosen is None else str(chosen)}
    context = RecordsPage(
        database=backups.database_of(engine),
        backups=view,
        now=now_of(request),
        values=values,
        problems=problems,
    )
    return page(request, "records.html", context, 422 if problems else 200)


def _refuse_in_demo(request: Request) -> None:
    if settings_of(request).demo:
        raise Refused.because(
            "backup",
            say("the invented demo"),
            say("your own records; start Fadeline without --demo"),
        )
