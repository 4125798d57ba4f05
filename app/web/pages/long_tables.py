"""Whether a form brings a table of so many rows that reading it is heavy work."""

from fastapi import Request
from starlette.datastructures import FormData

from app.services.exchange import upload_staging
from app.web.forms.discharge_form import PASTED
from app.web.forms.form_reader import texts, upload
from app.web.rendering.rendering import store_of
from app.web.security.heavy_work import MAX_LIGHT_BYTES


def holds_a_long_table(request: Request, form: FormData, **_: object) -> bool:
    """By its length: a file, a paste, or what waits for its preview to be answered.

    What a workbook or a packed file unpacks to, its length does not tell: they always count.
    """
    file, values = upload(form, "file"), texts(form)
    sizes = [len(values.get(PASTED, ""))]
    packed = False
    if file is not None:
        sizes.append(file.size or 0)
        packed = upload_staging.unpacks(file.file)
        file.file.seek(0)
    if values.get("staged"):
        store = store_of(request)
        sizes.append(upload_staging.staged_size(store, values["staged"]))
        packed = packed or upload_staging.staged_unpacks(store, values["staged"])
    return packed or max(sizes) > MAX_LIGHT_BYTES
