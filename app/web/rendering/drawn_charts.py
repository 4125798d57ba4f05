"""Charts as they were drawn for such a reader before, while what they show stays the same."""

from collections.abc import Callable, Hashable
from dataclasses import replace

from fastapi import Request

from app.charts.chart import Chart
from app.services.record_state import RecordState
from app.web.rendering.rendering import store_of
from app.web.request import reader_of


def drawn(
    request: Request, what: Hashable, state: RecordState, make: Callable[[], Chart | None]
) -> Chart | None:
    """The chart that `make` makes of records in that state and nothing else.

    what tells one chart of the same records from another.
    """
    reader = reader_of(request)

    def made() -> Chart | None:
        chart = make()
        return None if chart is None else replace(chart, reader=reader)

    key = (what, state, reader.preferences)
    return store_of(request).computed.get("chart", key, made)
