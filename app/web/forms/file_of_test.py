"""A waiting file of a test, given up: for another one, or for rows that its owner can correct."""

from collections.abc import Mapping

from app.domain.errors import InvalidInput
from app.domain.units.time_units import since_midnight_s
from app.services.exchange import upload_staging
from app.services.exchange.staged_upload import Source
from app.services.store import Store
from app.web.forms.discharge_form import PASTED, fits_rows, rows_by_the_clock
from app.web.forms.entry_way import WAY, Way
from app.web.forms.several_discharges import without_answers
from app.web.forms.typed_units import in_fahrenheit, is_in_fahrenheit


def without_file(store: Store, values: Mapping[str, str]) -> dict[str, str]:
    """Back to the empty table; what was pasted stands in its field again."""
    kept = without_answers(values)
    staged, origin = kept.pop("staged", ""), kept.pop("source", "")
    if origin == PASTED:
        try:
            kept["pasted"] = upload_staging.staged_text(store, staged)
        except InvalidInput:
            # Its day is over: there is nothing to bring back.
            kept["pasted"] = ""
    return kept


def as_rows(values: Mapping[str, str], source: Source | None) -> dict[str, str] | None:
    """The form with the readings of its file as typed rows, by the file's own clock and day.

    None where the file cannot be read yet, or has more readings than rows.
    """
    if source is None or not fits_rows(source):
        return None
    kept = without_answers(values)
    kept.pop("staged", None)
    kept.pop("source", None)
    started, clock_s = source.started_at, source.first_clock_s
    if started is not None:
        local = started if started.tzinfo is None else started.astimezone()
        clock_s = since_midnight_s(local)
        kept["day"] = kept.get("day") or local.date().isoformat()
        kept["start_time"] = kept.get("start_time") or local.time().isoformat(timespec="seconds")
    rows = rows_by_the_clock(source.readings, clock_s)
    return kept | (in_fahrenheit(rows) if is_in_fahrenheit(values) else rows) | {WAY: Way.TYPED}
