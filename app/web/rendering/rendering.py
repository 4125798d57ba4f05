"""Rendering: one environment, one context class a page, numbers formatted in one place."""

from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, cast

from fastapi import FastAPI, Path, Request
from fastapi.templating import Jinja2Templates
from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from starlette.responses import Response

from app.charts.chart import Chart
from app.domain.glossary import BY_KEY
from app.domain.i18n.message import ENGLISH, Reader, joined, say, say_plural
from app.domain.i18n.preferences import Language
from app.domain.i18n.source_label import origin
from app.domain.legible import legible
from app.domain.local_clock import day_here
from app.domain.units.rounding import rounded_down
from app.services.store import Store
from app.settings import TEMPLATES, Settings
from app.web.forms.csrf import CsrfFields, csrf_field
from app.web.forms.refused_fields import refused_once
from app.web.forms.typed_units import DEGREES, in_degrees, page_as_typed_by, with_own_sign
from app.web.rendering import assets
from app.web.rendering.chart_files import asks_for_chart, chart_address, chart_file, has_chart_files
from app.web.rendering.dotted_terms import DottedTerms
from app.web.rendering.filters import (
    age,
    capital,
    day,
    formatted,
    inside,
    likely,
    megabytes,
    moment,
    number,
    options,
    percent,
    span,
    started_when,
    temperature,
    thousands,
    unbroken,
)
from app.web.rendering.indentation import WithoutIndentation
from app.web.rendering.marked_texts import MarkedTexts
from app.web.rendering.navigation import PARTS, current_part
from app.web.rendering.non_breaking_units import non_breaking
from app.web.rendering.open_doors import open_doors
from app.web.rendering.responsive_table import stacked
from app.web.rendering.theme import BAR_COLORS, page_chrome_of
from app.web.request import path_of, reader_of

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


# The example is served below this prefix.
EXAMPLE = "/example"
LEAVE_EXAMPLE = f"{EXAMPLE}/leave"
# Numbers of things in addresses: what a database can hold.
Id = Annotated[int, Path(ge=1, le=2**63 - 1)]
# So far down a list anybody may ask.
MAX_BATTERIES = 10**9


@pass_context
def url_for(context: Context, name: str, /, **path: Any) -> str:
    """A page's address on this server, for templates."""
    return path_to(context["request"], name, **path)


def path_to(request: Request, name: str, /, **path: Any) -> str:
    """A page's address on this server, without the host name that the request came by.

    Within the example, which lies below a prefix, it stays within the example.
    """
    prefix: str = request.scope.get("root_path", "")
    return prefix + str(request.app.state.path_of(name, **path))


def path_within(request: Request) -> str:
    """The address that was asked for, without the prefix of the example."""
    return path_of(request).removeprefix(request.scope.get("root_path", ""))


@pass_context
def chart_address_of(context: Context, file: str) -> str:
    return chart_address(context["request"], file)


environment = Environment(
    loader=FileSystemLoader(TEMPLATES),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    extensions=["jinja2.ext.i18n", CsrfFields, WithoutIndentation],
)
environment.policies["ext.i18n.trimmed"] = True
# Templates give their values to `gettext`, which lets the reader read them.
environment.newstyle_gettext = True  # type: ignore[attr-defined]
environment.filters.update(
    number=number,
    percent=percent,
    down=rounded_down,
    temperature=temperature,
    format=formatted,
    day=day,
    moment=moment,
    span=span,
    started_when=started_when,
    age=age,
    capital=capital,
    inside=inside,
    megabytes=megabytes,
    thousands=thousands,
    options=options,
    likely=likely,
    unbroken=unbroken,
    in_degrees=in_degrees,
    with_own_sign=with_own_sign,
    join=lambda parts, separator="": joined(separator, parts),
    origin=origin,
    refused_once=refused_once,
    stacked=stacked,
    non_breaking=non_breaking,
    legible=legible,
    dotted=DottedTerms(ENGLISH),
)
environment.globals |= {
    "say": say,
    "say_plural": say_plural,
    "joined": joined,
    "url_for": url_for,
    "chart_address": chart_address_of,
    "static_version": assets.static_version,
    "chart_library_version": assets.chart_library_version,
    "page_styles_version": assets.page_styles_version,
    "main_parts": PARTS,
    "bar_colors": BAR_COLORS,
    "glossary": BY_KEY,
    "form_token": csrf_field,
    "degrees_field": DEGREES,
}


@cache
def templates_for(reader: Reader) -> Jinja2Templates:
    """The templates as this reader reads them: every message that they show is read."""
    made = environment.overlay(finalize=reader.read)
    texts = MarkedTexts(reader)
    own: dict[str, Any] = {
        "_": texts.gettext,
        "gettext": texts.gettext,
        "ngettext": texts.ngettext,
        "pgettext": texts.pgettext,
    }
    # One plain dictionary: each import in a template goes through all of it.
    made.globals = environment.globals | own

    def read(value: Any) -> Any:
        return reader.read(value)

    made.filters = made.filters | {
        "dotted": DottedTerms(reader),
        "drawn": lambda trend: trend.svg(reader),
        "unbroken": lambda words: unbroken(read(words)),
        "lower": lambda text: read(text).lower(),
        "replace": lambda text, old, new: read(text).replace(read(old), read(new)),
    }
    return Jinja2Templates(env=made)


@dataclass(frozen=True)
class Notice:
    """What was just done, and the form that takes it back. seen is the version that it made.

    undo says what its button does; without an action there is none.
    """

    words: str
    action: str = ""
    seen: int | None = None
    history: str = ""
    undo: str = ""


def page(
    request: Request,
    template: str,
    context: "DataclassInstance",
    status: int = 200,
    notice: Notice | None = None,
) -> Response:
    """Render a template with exactly the fields of its context class; or, where only a chart of
    the page is asked for, that."""
    reader = reader_of(request)
    context = page_as_typed_by(reader, context)
    values: dict[str, Any] = {
        f.name: _looked_at(getattr(context, f.name), reader) for f in fields(context)
    }
    has_files = has_chart_files(request, status)
    if has_files and asks_for_chart(request):
        return chart_file(request, values.values())
    values |= {"dress": page_chrome_of(request), "current_part": current_part(request)}
    values["open_doors"] = open_doors(request.app)
    settings = settings_of(request)
    # The way out of the example is the only address in it that leads to the owner's own Fadeline.
    way_out = request.scope.get("app_root_path", "") + LEAVE_EXAMPLE if settings.example else ""
    values |= {"demo": settings.demo, "leave_example": way_out, "notice": notice}
    values["has_chart_files"] = has_files
    values["answers_form"] = request.method == "POST"
    german = reader.preferences.language is Language.GERMAN
    values["language"] = Language.GERMAN if german else Language.ENGLISH
    return templates_for(reader).TemplateResponse(request, template, values, status_code=status)


def _looked_at(value: Any, reader: Reader) -> Any:
    """A chart, or charts, as this reader looks at them; anything else as it is."""
    if isinstance(value, Chart):
        # One that was drawn for such a reader before keeps what was drawn.
        return value if value.reader == reader else replace(value, reader=reader)
    if isinstance(value, tuple) and any(isinstance(one, Chart) for one in value):
        return tuple(_looked_at(one, reader) for one in value)
    return value


def see_other(request: Request, name: str, *, done: str = "", **path: Any) -> Response:
    """Send the browser to a page after a form was taken, which then says what was done."""
    target = path_to(request, name, **path) + (f"?done={done}" if done else "")
    return Response(status_code=303, headers={"Location": target})


def settings_of(request: Request) -> Settings:
    return cast(Settings, request.app.state.settings)


def store_of(request: Request) -> Store:
    return cast(Store, request.app.state.store)


def now_of(request: Request) -> datetime:
    """The present moment, aware, in UTC."""
    return moment_of(request.app)


def moment_of(app: FastAPI) -> datetime:
    """The present moment of an application; tests set their own clock."""
    clock = getattr(app.state, "clock", None)
    return cast(datetime, clock()) if clock else datetime.now(UTC)


def today_of(request: Request) -> date:
    return day_here(now_of(request))
