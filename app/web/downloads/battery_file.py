"""One self-contained file of a battery, to be sent: no script, no request, the data inside."""

import base64
import re
from collections.abc import Callable
from dataclasses import dataclass, fields

from fastapi import Request
from starlette.responses import Response

from app.analysis.reports.discharge_report import Row
from app.analysis.reports.sent_report import SentReport, sent_report
from app.analysis.reports.shared_report import SharedReport, SharedTest
from app.charts.battery_chart import fade_svg, trend_caption
from app.charts.small.course import small_course
from app.domain.i18n.message import ENGLISH
from app.domain.legible import legible
from app.domain.records.sent_battery import DATA_ADDRESS, FILE_FORMAT, SentBattery
from app.services.exchange import export_file
from app.web.lazy_routes import LazyRouter
from app.web.rendering.assets import STYLE_SHEETS
from app.web.rendering.chart_files import plain_name
from app.web.rendering.filters import number, span
from app.web.rendering.rendering import Id, settings_of, store_of, templates_for, today_of
from app.web.rendering.spreadsheet import as_download
from app.web.rendering.used_styles import used_styles

router = LazyRouter(include_in_schema=False)
# A file for a mailbox or a messenger: 300 kB hold 40 tests, and each further one some more.
TESTS_WITHIN, MAX_BYTES, BYTES_A_TEST = 40, 299_000, 6_500
# What stands in it of a test at the least: its result and heading, its steps and budget, and a
# reading as text, which has a run time and a current (measured: 1,930, 1,300 and 17).
_MIN_TEST_BYTES, _MIN_WHOLE_BYTES, _MIN_READING_BYTES = 1_900, 1_000, 15
_THINNER, _THINNEST = 0.97, 0.5
_COLUMNS_KEPT, _INDENT = (
    re.compile(r"(<pre.*?</pre>)", re.DOTALL),
    re.compile(r"\s*\n\s*"),
)


@dataclass(frozen=True)
class Detail:
    """How much of each test stands in it as text: so many of its readings, and the steps and the
    budget of so many newest tests.

    Every test has its picture. The data that the file carries do not depend on it.
    """

    readings: int
    whole: int = 10_000


DETAILS = (
    Detail(200),
    Detail(60),
    Detail(24),
    Detail(16),
    Detail(16, whole=20),
    Detail(12, whole=8),
    Detail(8, whole=4),
)


@dataclass(frozen=True)
class ShownTest:
    """One test in the file: its figures, its picture and its readings as text.

    whole says that it stands with its steps and its budget.
    """

    test: SharedTest
    whole: bool
    picture: str
    readings: str
    readings_words: str


@dataclass(frozen=True)
class FilePage:
    """What battery_file.html needs. Pictures are empty where there is nothing to draw."""

    sent: SentBattery
    report: SharedReport
    tests: tuple[ShownTest, ...]
    sources: tuple[str, ...]
    trend: str
    caption: str
    data_name: str
    data_address: str
    detail: int
    format: int = FILE_FORMAT


@router.get("/batteries/{battery_id}/file.html", name="battery_file")
def battery_file(request: Request, battery_id: Id) -> Response:
    """The file as a download. It is written as usual, whoever reads the page of its link."""
    store = store_of(request)
    demo, program = settings_of(request).demo, request.app.version

    def pack(some: SentBattery) -> bytes:
        return export_file.packed(store, some)

    sent = export_file.battery_to_send(store, battery_id, today_of(request), program, demo=demo)
    made = made_to_fit(sent, pack)
    headers = as_download(f"{file_name(sent)}.html")
    return Response(made, media_type="text/html", headers=headers)


def made_to_fit(sent: SentBattery, pack: Callable[[SentBattery], bytes]) -> str:
    """The file with as much detail as its size allows, its data whole where they fit.

    Less of each test is shown first; only then are long logs thinned, which the file says.
    """
    report, data = sent_report(sent), pack(sent)
    most = MAX_BYTES + BYTES_A_TEST * max(0, len(sent.tests) - TESTS_WITHIN)
    for detail in range(len(DETAILS)):
        text = rendered(sent, report, detail, data)
        if len(text.encode()) <= most:
            return text
    whole, longest = sent, max((one.logged for one in sent.tests), default=0)
    while longest > export_file.MIN_READINGS and len(text.encode()) > most:
        # As many as there is room for, and a little less.
        carried = len(base64.b64encode(data))
        room = (most - len(text.encode()) + carried) / carried
        longest = int(longest * max(_THINNEST, min(_THINNER, room)))
        sent = export_file.thinned(whole, longest)
        data = pack(sent)
        text = rendered(sent, report, len(DETAILS) - 1, data)
    return text


def min_page_bytes(sent: SentBattery, detail: int) -> int:
    """Bytes that the file has at the least, whatever its figures are, without the data in it."""
    level = DETAILS[detail]
    readings = sum(min(len(one.test.details.readings), level.readings) for one in sent.tests)
    whole = min(len(sent.tests), level.whole)
    return (
        _MIN_TEST_BYTES * len(sent.tests) + _MIN_WHOLE_BYTES * whole + _MIN_READING_BYTES * readings
    )


def rendered(sent: SentBattery, report: SentReport, detail: int, data: bytes) -> str:
    """The file with these data in it."""
    level, newest_first = DETAILS[detail], tuple(reversed(report.tests))
    name = file_name(sent)
    context = FilePage(
        sent=sent,
        report=report.report,
        tests=tuple(_shown(test, level, number) for number, test in enumerate(newest_first)),
        sources=_sources(report),
        trend=fade_svg(report.report),
        caption=trend_caption(report.report),
        data_name=f"{name}.zip",
        data_address=DATA_ADDRESS + base64.b64encode(data).decode(),
        detail=detail,
    )
    values = {field.name: getattr(context, field.name) for field in fields(context)}
    text = legible(templates_for(ENGLISH).get_template("battery_file.html").render(values))
    # Their texts end no element early.
    styles = used_styles((*STYLE_SHEETS, "file.css"), text)
    return _squeezed(text).replace("</head>", f"<style>\n{styles}\n</style>\n</head>", 1)


def _squeezed(text: str) -> str:
    """The page without the indents of its templates; readings keep the columns they stand in."""
    parts = _COLUMNS_KEPT.split(text)
    parts[::2] = [_INDENT.sub("\n", part) for part in parts[::2]]
    return "".join(parts)


def _sources(report: SentReport) -> tuple[str, ...]:
    """What the corrections of all tests rest on, each once."""
    named = (
        f"{c.label}: {c.source}" for test in report.tests for c in test.corrections if c.source
    )
    return tuple(f"{one[0].upper()}{one[1:]}" for one in dict.fromkeys(named))


def file_name(sent: SentBattery) -> str:
    """A name that any disk and any mailbox takes, without its ending."""
    return f"{plain_name(sent.details.name, 'battery', 40)}-{sent.as_of}"


def _shown(test: SharedTest, level: Detail, number: int) -> ShownTest:
    rows = _picked(test.rows, level.readings)
    if test.only_result:
        return ShownTest(test, number < level.whole, "", "", "None: only the result was noted.")
    if len(rows) == test.rows_in_all:
        words = f"All {len(rows)} readings."
    else:
        shown = f"{len(rows)} of {test.rows_in_all} readings are shown"
        words = f"{shown}; all of them under load were counted."
    return ShownTest(
        test=test,
        whole=number < level.whole,
        picture=small_course(test),
        readings=_readings_text(rows),
        readings_words=words,
    )


def _picked(rows: tuple[Row, ...], most: int) -> tuple[Row, ...]:
    if len(rows) <= most:
        return rows
    last = len(rows) - 1
    return tuple(rows[round(step * last / (most - 1))] for step in range(most))


def _readings_text(rows: tuple[Row, ...]) -> str:
    """Readings in columns that line up, with the units above them."""
    known = [column for column in _COLUMNS if any(column.of(row) for row in rows)]
    table = [[column.title for column in known]]
    table += [[column.of(row) or "–" for column in known] for row in rows]
    widths = [max(map(len, cells)) for cells in zip(*table, strict=True)]
    return "\n".join(
        "  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True))
        for line in table
    )


@dataclass(frozen=True)
class _Column:
    """A column of the readings as text; empty where nothing was read."""

    title: str
    of: Callable[[Row], str]


def _of(name: str, digits: int) -> Callable[[Row], str]:
    def text(row: Row) -> str:
        value = getattr(row, name)
        return "" if value is None else number(value, digits)

    return text


# With as many digits as the page of a test has.
_COLUMNS = (
    _Column("run time", lambda row: span(row.elapsed_h)),
    _Column("A", _of("current_a", 2)),
    _Column("V", _of("voltage_v", 2)),
    _Column("°C", _of("temperature_c", 1)),
    _Column("gauge %", _of("gauge_percent", 0)),
    _Column("counted Ah", _of("counted_ah", 1)),
)
