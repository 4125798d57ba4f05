"""Whether a form brings a table of so many rows that reading it is heavy work."""

from fastapi import Request
from starlette.datastructures import FormData

from app.services.exchange import upload_staging
from app.web.forms.discharge_form import PASTED
from app.web.forms.form_reader import texts, upload
from app.web.rendering.rendering import store_of
from app.web.security.heavy_work import MAX_LIGHT_BYTES


def holds_a_long_table(request: Request, form: FormData, **_: object) -> bool:
    """By its length alone: a file, a paste, or what waits for its preview to be answered."""
    file, values = upload(form, "file"), texts(form)
    sizes = [len(values.get(PASTED, ""))]
    if file is not None:
        sizes.append(file.size or 0)
    if values.get("staged"):
        sizes.append(upload_staging.staged_size(store_of(request), values["staged"]))
    return max(sizes) > MAX_LIGHT_BYTES
