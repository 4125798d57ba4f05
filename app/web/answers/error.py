"""What the interface answers where it cannot answer what was asked."""

from typing import Any

from app.web.answers.answer import Answer


class ErrorAnswer(Answer):
    """What went wrong in a few words, and a sentence for each thing that did."""

    error: str
    """A few words."""
    details: tuple[str, ...]
    """Field or row, what was given and what is allowed, a sentence each."""


def _said(when: str) -> dict[str, Any]:
    return {"model": ErrorAnswer, "description": when}


# 422 stands here for the framework's own description of it, which is not what is answered.
ERRORS: dict[int | str, dict[str, Any]] = {
    403: _said("The device may not ask this."),
    404: _said("There is no such thing, or the link is closed, or the token is another's."),
    422: _said("Refused: what was given, and what is allowed instead."),
    503: _said("The data cannot be used at the moment, or too much is asked at once."),
}
TOO_LARGE: dict[int | str, dict[str, Any]] = {413: _said("More than one message may hold.")}
