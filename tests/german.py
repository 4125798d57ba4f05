"""A made-up catalogue in the place of the German one."""

from collections.abc import Mapping

import pytest

from app.domain.i18n.message import Reader
from app.web import request
from app.web.rendering import rendering


def in_german(monkeypatch: pytest.MonkeyPatch, catalogue: Mapping[str, str]) -> None:
    """Let these be the texts of every language but English; all others stay as they are."""
    monkeypatch.setattr(request, "reader_with", lambda preferences: Reader(preferences, catalogue))
    monkeypatch.setattr(rendering, "templates_for", rendering.templates_for.__wrapped__)
