"""The settings, and among them how the owner likes to read: language, numbers, dates."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say
from app.domain.i18n.preferences import (
    DateShown,
    DecimalShown,
    Language,
    Preferences,
    TemperatureShown,
)
from app.services.access import preferences
from app.services.entities import bin
from app.web.forms.form_reader import FormReader, posted, texts
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import page, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class SettingsPage:
    """What settings.html needs: how many things lie in the bin."""

    binned: int


@dataclass(frozen=True)
class PreferencesPage:
    """What preferences.html needs; the sample shows how it looks now."""

    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    sample_date: date = date(2026, 4, 3)
    sample_ah: float = 98.4
    sample_c: float = 21.5
    languages: tuple[Language, ...] = tuple(Language)
    temperatures: tuple[TemperatureShown, ...] = tuple(TemperatureShown)
    dates: tuple[DateShown, ...] = tuple(DateShown)
    decimals: tuple[DecimalShown, ...] = tuple(DecimalShown)


@router.get("/settings", name="settings")
def show_settings(request: Request) -> Response:
    """The way to everything that is set once."""
    return page(request, "settings.html", SettingsPage(bin.count_binned(store_of(request))))


@router.get("/preferences", name="preferences")
def show_preferences(request: Request) -> Response:
    chosen = preferences.preferences_of(store_of(request))
    values = {
        "language": chosen.language.value,
        "temperature": chosen.temperature.value,
        "dates": chosen.dates.value,
        "decimals": chosen.decimals.value,
    }
    return page(request, "preferences.html", PreferencesPage(values, ()))


@router.post("/preferences", name="keep_preferences")
def keep_preferences(request: Request, form: Annotated[FormData, Depends(posted)]) -> Response:
    values = texts(form)
    reader = FormReader(values)
    try:
        chosen = Preferences(
            reader.choice("language", say("language"), Language),
            reader.choice("temperature", say("temperatures"), TemperatureShown),
            reader.choice("dates", say("dates"), DateShown),
            reader.choice("decimals", say("decimal sign"), DecimalShown),
        )
        reader.finish()
    except InvalidInput as error:
        context = PreferencesPage(values, tuple(error.problems))
        return page(request, "preferences.html", context, status=422)
    preferences.keep_preferences(store_of(request), chosen)
    return see_other(request, "preferences")
