"""A file that somebody sent: looked at with every figure computed anew, then kept."""

from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.analysis.reports.sent_report import sent_report
from app.analysis.reports.shared_report import SharedView
from app.charts.chart import Chart
from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.domain.records.sent_battery import SentBattery, TextDifference
from app.services.exchange import import_file, upload_staging
from app.services.exchange.import_file import FIELD, Received, Standing
from app.web.downloads.battery_file import DETAILS, min_page_bytes, rendered
from app.web.forms.form_reader import Posted, texts, upload
from app.web.lazy_routes import LazyRouter
from app.web.open_pages.shared_page import figures_of
from app.web.rendering.rendering import now_of, page, see_other, store_of
from app.web.security.heavy_work import heavy

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
SHOWN = 40


@dataclass(frozen=True)
class Looked:
    """A received file as it was computed anew.

    differences are where it says something else than its data give, further how many more of
    them there are; older says that only its figures were compared; staged is its name while it
    waits for the word to keep it.
    """

    sent: SentBattery
    view: SharedView
    figures: tuple[Chart | None, ...]
    differences: tuple[TextDifference, ...]
    further: int
    other_program: bool
    older: bool
    standing: Standing
    staged: str


@dataclass(frozen=True)
class ReceivedPage:
    """What received.html needs; looked is None where no file was looked at."""

    looked: Looked | None
    problems: tuple[FieldError, ...]


@router.get("/received", name="received")
def received_form(request: Request) -> Response:
    return page(request, "received.html", ReceivedPage(None, ()))


@router.post("/received", name="receive")
@heavy()
def receive(request: Request, form: Posted) -> Response:
    """Look at a file that was sent; keep one that was looked at."""
    staged = texts(form).get("staged", "")
    try:
        if staged:
            return _kept(request, staged)
        return _looked_at(request, form)
    except FadelineError as error:
        return page(request, "received.html", ReceivedPage(None, problems_of(error)), 422)


def _looked_at(request: Request, form: FormData) -> Response:
    store = store_of(request)
    file = upload(form, FIELD)
    if file is None:
        raise InvalidInput.because(
            say("file"), "", say("a battery's file made with Fadeline"), FIELD
        )
    import_file.check_size(file.size or 0)
    staged = upload_staging.stage_archive(store, file.file)
    try:
        received = import_file.open_received(store, staged, now_of(request))
        looked = _look(request, received, staged)
    except FadelineError:
        upload_staging.drop_staged(store, staged)
        raise
    return page(request, "received.html", ReceivedPage(looked, ()))


def _kept(request: Request, staged: str) -> Response:
    """Computed once more: what is kept is what can be judged."""
    store, now = store_of(request), now_of(request)
    received = import_file.open_received(store, staged, now)
    _look(request, received, staged)
    number = import_file.keep_received(store, received.sent, now)
    upload_staging.drop_staged(store, staged)
    return see_other(request, "battery", battery_id=number)


def _look(request: Request, received: Received, staged: str) -> Looked:
    """Compute everything anew from the data of a file. Raises InvalidInput."""
    # The most detail holds every figure that an older file can have.
    sent, detail = received.sent, "0" if received.page.older else received.page.detail
    if detail not in map(str, range(len(DETAILS))):
        raise InvalidInput.because(
            say("detail of the file"),
            detail,
            say("0 to {last}", last=len(DETAILS) - 1),
            FIELD,
        )
    import_file.check_page(sent, min_page_bytes(sent, int(detail)))
    try:
        computed = sent_report(sent)
    except InvalidInput as refused:
        raise import_file.unusable(refused) from refused
    # The file was written as usual, whatever its reader prefers.
    own = rendered(sent, sent_report(sent), int(detail), b"")
    found = import_file.disagreements(received, own)
    view = SharedView(sent.as_of, (computed.report,), None)
    return Looked(
        sent=sent,
        view=view,
        figures=figures_of(view),
        differences=found[:SHOWN],
        further=max(0, len(found) - SHOWN),
        other_program=sent.program != request.app.version,
        older=received.page.older,
        standing=import_file.standing(store_of(request), sent),
        staged=staged,
    )
