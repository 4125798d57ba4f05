"""The charts of a page as files: the page's own address with the name of the picture, of the data
or of the figure that static/chart.js draws.

So a file needs no address of its own, shows what the page would show (a choice made, a link to a
test), and answers exactly those whom the page answers.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from starlette.responses import JSONResponse, Response

from app.charts.chart import Chart
from app.domain.errors import NotFound, truncate
from app.domain.i18n.message import say
from app.web.rendering.spreadsheet import as_download, spreadsheet_response

# Of an address: the chart with the kind of file, such as chart=fade.svg.
FIELD = "chart"
_NAME_LENGTH = 60


def asks_for_chart(request: Request) -> bool:
    """Whether this is about a chart of the page alone."""
    return request.method == "GET" and FIELD in request.query_params


def has_chart_files(request: Request, status: int) -> bool:
    """Whether the page that answers so can be asked for its charts by its address.

    An answer to a form has no address of its own, and a refusal would be refused again.
    """
    return request.method == "GET" and status == 200


def chart_address(request: Request, file: str) -> str:
    """Where a chart of this page is given as a file, relative to the page.

    What was just done is said on the page and is no part of the chart's address.
    """
    asked = request.query_params.multi_items()
    kept = [(name, value) for name, value in asked if name not in ("done", FIELD)]
    return "?" + urlencode([*kept, (FIELD, file)])


def chart_file(request: Request, context: Iterable[Any]) -> Response:
    """The chart that is asked for, among those that the page would show. Raises NotFound."""
    asked = request.query_params[FIELD]
    name, _, kind = asked.rpartition(".")
    chart = next((one for one in charts_of(context) if one.name == name), None)
    if chart is None or kind not in ("svg", "csv", "json"):
        raise NotFound(say("There is no chart {name} on this page.", name=truncate(asked)))
    if kind == "json":
        return JSONResponse(chart.drawn)
    title = plain_name(chart.title, chart.name, _NAME_LENGTH)
    if kind == "csv":
        return spreadsheet_response(title, chart.numbers.header, chart.numbers.rows)
    headers = as_download(f"{title}.svg")
    return Response(chart.file_svg, media_type="image/svg+xml", headers=headers)


def charts_of(values: Iterable[Any]) -> Iterator[Chart]:
    """The charts among what a page is made of."""
    for value in values:
        if isinstance(value, Chart):
            yield value
        elif isinstance(value, tuple):
            yield from (one for one in value if isinstance(one, Chart))


def plain_name(text: str, otherwise: str, longest: int) -> str:
    """A name that any disk and any mailbox takes, without its ending; otherwise if empty."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return "-".join(re.findall("[a-z0-9]+", plain.casefold()))[:longest].strip("-") or otherwise
