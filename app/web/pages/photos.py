"""Photos of a test: taken in, shown to their owner alone, captioned."""

from typing import Annotated

from fastapi import Header, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import FadelineError, problems_of
from app.domain.i18n.message import say
from app.domain.limits import MAX_LINE_LENGTH
from app.domain.photo import UPLOAD_LIMIT_MB
from app.services.entities import photos
from app.web.forms.form_reader import FormReader, Posted, texts, uploads
from app.web.lazy_routes import LazyRouter
from app.web.pages.discharges import discharge_page
from app.web.rendering.rendering import Id, now_of, see_other, store_of
from app.web.security.heavy_work import heavy

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
# One byte more than may be is enough to know that it is too much.
_MAX_READ = UPLOAD_LIMIT_MB * 1_000_000 + 1


@router.post("/discharges/{discharge_id}/photos", name="add_photos")
@heavy()
def add_photos(request: Request, discharge_id: Id, form: Posted) -> Response:
    values = texts(form)
    reader = FormReader(values)
    caption = reader.text("caption", say("caption"), MAX_LINE_LENGTH)
    try:
        reader.finish()
        files = [(one.filename or "", one.file.read(_MAX_READ)) for one in uploads(form, "photos")]
        photos.add_photos(store_of(request), discharge_id, files, caption, now_of(request))
    except FadelineError as error:
        return discharge_page(request, discharge_id, values, problems_of(error))
    return see_other(request, "discharge", discharge_id=discharge_id)


@router.get("/photos/{photo_id}.jpg", name="photo")
def show_photo(
    request: Request, photo_id: Id, if_none_match: Annotated[str, Header()] = ""
) -> Response:
    """The picture, which a browser may keep and asks about each time."""
    known = f'"{photos.get_photo(store_of(request), photo_id).sha256}"'
    headers = {"ETag": known, "Cache-Control": "private, no-cache"}
    if if_none_match == known:
        return Response(status_code=304, headers=headers)
    jpeg = photos.photo_jpeg(store_of(request), photo_id)
    return Response(jpeg, media_type="image/jpeg", headers=headers)


@router.post("/photos/{photo_id}", name="change_caption")
def change_caption(request: Request, photo_id: Id, form: Posted) -> Response:
    values, store = texts(form), store_of(request)
    photo = photos.get_photo(store, photo_id)
    name = f"caption_{photo_id}"
    reader = FormReader(values)
    caption = reader.text(name, say("caption"), MAX_LINE_LENGTH)
    try:
        reader.finish()
        photos.change_caption(store, photo_id, caption, now_of(request))
    except FadelineError as error:
        return discharge_page(request, photo.discharge_id, values, problems_of(error))
    return see_other(request, "discharge", discharge_id=photo.discharge_id)
