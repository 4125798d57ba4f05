"""The page about the records as a whole: their backups and where these go."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.services.backups import backups
from app.services.backups.backups import FOLDER_FIELD, BackupsView
from app.web.forms.form_reader import FormReader, Posted, texts
from app.web.lazy_routes import LazyRouter
from app.web.rendering.flash_message import backed_up, notice_of
from app.web.rendering.rendering import now_of, page, see_other, settings_of, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
DEMO = N_("The demo makes no backups.")


@dataclass(frozen=True)
class RecordsPage:
    """What records.html needs. Without backups no_backups says why there are none;
    chooses_folder says that the folder of backups can be chosen from here."""

    on_server: bool
    place: str
    backups: BackupsView | None
    chooses_folder: bool
    no_backups: str
    now: datetime
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]


@router.get("/records", name="records")
def show_records(request: Request) -> Response:
    return records_page(request, None, ())


@router.post("/records/backups", name="back_up")
def back_up(request: Request) -> Response:
    """Make a backup now; how it went stands on the page."""
    _refuse_in_demo(request)
    outcome = backups.back_up(store_of(request).engine, now_of(request))
    if outcome.path is None:
        return records_page(request, None, (FieldError(outcome.trouble, "", ""),))
    return see_other(request, "records", done=backed_up(outcome.path.name))


@router.post("/records/folder", name="choose_backup_folder")
def choose_folder(request: Request, form: Posted) -> Response:
    """Keep backups elsewhere from now on, beginning with one that shows that it works."""
    _refuse_in_demo(request)
    if settings_of(request).public_address:
        raise InvalidInput.because(
            say("folder of backups"),
            say("a folder chosen from another device"),
            say(
                "a folder chosen on the machine itself: run “fadeline serve --port 8799” there "
                "without a public address, and choose it on its page Records"
            ),
        )
    values, engine = texts(form), store_of(request).engine
    reader = FormReader(values)
    folder = reader.text(FOLDER_FIELD, say("folder of backups"), 1000)
    try:
        reader.finish()
        backups.choose_folder(engine, folder)
    except FadelineError as error:
        return records_page(request, values, problems_of(error))
    return back_up(request)


def records_page(
    request: Request, values: Mapping[str, str] | None, problems: tuple[FieldError, ...]
) -> Response:
    """The page; values and problems are those of its forms, if refused."""
    store = store_of(request)
    reason = DEMO if settings_of(request).demo else backups.ON_SERVER if store.on_server else ""
    none = say(reason) if reason else ""
    view = None if none else backups.show_backups(store.engine)
    if values is None:
        chosen = None if view is None else view.chosen
        values = {FOLDER_FIELD: "" if chosen is None else str(chosen)}
    context = RecordsPage(
        on_server=store.on_server,
        place=store.place,
        backups=view,
        chooses_folder=not settings_of(request).public_address,
        no_backups=none,
        now=now_of(request),
        values=values,
        problems=problems,
    )
    return page(request, "records.html", context, 422 if problems else 200, notice_of(request))


def _refuse_in_demo(request: Request) -> None:
    if settings_of(request).demo:
        raise InvalidInput.because(
            say("backup"),
            say("the invented demo"),
            say("your own records; start Fadeline without --demo"),
        )
