"""All records out as one archive, and an archive back in after a look at what it holds."""

from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.background import BackgroundTask
from starlette.datastructures import FormData
from starlette.responses import FileResponse, Response

from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.domain.records.merge_report import Conflict, MergeReport
from app.services.exchange import records_archive, upload_staging
from app.web.forms.form_reader import Posted, texts, upload
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import page, store_of, today_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
CONFLICTS_SHOWN = 500


@dataclass(frozen=True)
class RestorePage:
    """What records_restore.html needs.

    report is None where no archive was looked at; staged is its name while it waits for the word
    to restore it, empty once it is done. further counts the conflicts that are not shown.
    """

    report: MergeReport | None
    conflicts: tuple[Conflict, ...]
    further: int
    staged: str
    problems: tuple[FieldError, ...]


@router.post("/records/export", name="export_records")
def export(request: Request, form: Posted) -> Response:
    """The archive, sent from a file that is gone afterwards."""
    store = store_of(request)
    path = upload_staging.waiting_path(store)
    with_links = "without_links" not in texts(form)
    records_archive.export_records(store, path, with_links=with_links)
    return FileResponse(
        path,
        media_type="application/zip",
        filename=f"fadeline-{today_of(request)}.zip",
        background=BackgroundTask(path.unlink, missing_ok=True),
    )


@router.get("/records/restore", name="restore_archive")
def restore_form(request: Request) -> Response:
    return _page(request, None, "")


@router.post("/records/restore", name="restore_records")
def restore(request: Request, form: Posted) -> Response:
    """Look at an archive that was sent; restore one that was looked at."""
    values = texts(form)
    try:
        if values.get("staged"):
            return _restored(request, values["staged"], merge="merge" in values)
        return _looked_at(request, _kept(request, form))
    except FadelineError as error:
        return _page(request, None, "", problems_of(error))


def _kept(request: Request, form: FormData) -> str:
    """The name under which the archive that was sent waits."""
    file = upload(form, "archive")
    if file is None:
        words = say("Choose the archive to restore: a ZIP that Fadeline exported.")
        raise InvalidInput.saying(words, "archive")
    records_archive.check_size(file.size or 0)
    return upload_staging.stage_archive(store_of(request), file.file)


def _looked_at(request: Request, staged: str) -> Response:
    store = store_of(request)
    try:
        report = records_archive.look_at_archive(store, upload_staging.staged_path(store, staged))
    except FadelineError:
        upload_staging.drop_staged(store, staged)
        raise
    return _page(request, report, staged)


def _restored(request: Request, staged: str, *, merge: bool) -> Response:
    store = store_of(request)
    path = upload_staging.staged_path(store, staged)
    try:
        report = records_archive.restore_records(store, path, merge=merge)
    except InvalidInput as refused:
        # The word to merge is missing, or the records changed meanwhile: look once more.
        return _page(
            request, records_archive.look_at_archive(store, path), staged, refused.problems
        )
    upload_staging.drop_staged(store, staged)
    return _page(request, report, "")


def _page(
    request: Request,
    report: MergeReport | None,
    staged: str,
    problems: tuple[FieldError, ...] = (),
) -> Response:
    conflicts = () if report is None else report.conflicts
    context = RestorePage(
        report=report,
        conflicts=conflicts[:CONFLICTS_SHOWN],
        further=max(0, len(conflicts) - CONFLICTS_SHOWN),
        staged=staged,
        problems=problems,
    )
    return page(request, "records_restore.html", context, 422 if problems else 200)
