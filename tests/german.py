"""A made-up catalogue in the place of the German one."""

from collections.abc import Mapping
from gettext import NullTranslations

import pytest

from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import Preferences
from app.web import request
from app.web.rendering import rendering


class Words(NullTranslations):
    """A catalogue of these texts; all others stay as they are."""

    def __init__(self, known: Mapping[str, str]) -> None:
        super().__init__()
        self._known = known

    def gettext(self, message: str) -> str:
        return self._known.get(message) or message

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


def in_german(monkeypatch: pytest.MonkeyPatch, catalogue: Mapping[str, str]) -> None:
    """Let these be the texts of every language but English; all others stay as they are."""

    def reader_with(preferences: Preferences) -> Reader:
        return Reader(preferences, Words(catalogue))

    monkeypatch.setattr(request, "reader_with", reader_with)
    monkeypatch.setattr(rendering, "templates_for", rendering.templates_for.__wrapped__)
