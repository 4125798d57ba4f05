"""Everything that can go wrong, as one tree.

FadelineError
├── InvalidInput        what was given cannot be taken; says where, which value, which range
├── NotFound       there is no such thing (any more)
├── StaleEdit       what was asked was done already, or something else came in between
│   └── EditConflict  an edit of what another page has changed meanwhile; says in what both differ
├── Busy           too much is being worked on; the same can be sent again a little later
├── LinkClosed     a share link that is wrong, ended or revoked: all three look the same
└── StorageError the data file cannot be used as it is; says what to do
"""

from collections.abc import Iterable
from dataclasses import dataclass

from app.domain.i18n.message import Message, joined, say


@dataclass(frozen=True)
class FieldError:
    """One reason for a refusal: where (field or row), the value as given, what is allowed.

    What is allowed is a noun with its range. Without it, where is a whole sentence already. label
    is what a list calls the field where its form has no name for it.
    """

    where: str
    value: str
    allowed: str
    field: str = ""
    label: str = ""

    @property
    def sentence(self) -> str:
        if not self.allowed:
            return self.where
        said = {"where": self.where, "allowed": self.allowed}
        if not self.value:
            return say("Please fill in “{where}”: {allowed}.", **said)
        return say(
            "Please check “{where}”: “{given}” does not fit. It needs {allowed}.",
            **said,
            given=self.value,
        )


class FadelineError(Exception):
    """Base of every error that is meant to be shown to the user."""

    @property
    def words(self) -> str:
        """What to show, for any reader; str(error) is English."""
        return self.args[0] if self.args else ""


class InvalidInput(FadelineError):
    """Input that was not taken. Nothing was stored."""

    def __init__(self, problems: Iterable[FieldError]) -> None:
        self.problems = tuple(problems)
        super().__init__(joined(" ", (problem.sentence for problem in self.problems)))

    @classmethod
    def because(cls, where: str, value: object, allowed: str, field: str = "") -> "InvalidInput":
        given = value if isinstance(value, Message) else truncate(str(value))
        return cls([FieldError(where, given, allowed, field)])

    @classmethod
    def saying(cls, sentence: str, field: str = "") -> "InvalidInput":
        """A refusal in a sentence of its own: what to do, then the value and what is allowed."""
        return cls([FieldError(sentence, "", "", field)])


class NotFound(FadelineError):
    """There is no such thing, or it lies in the bin."""


class StaleEdit(FadelineError):
    """The page that asked shows what is no longer so. Nothing was changed."""


class EditConflict(StaleEdit):
    """An edit of a thing that was changed after its form was opened.

    version is the one that is stored now: an edit that has seen it may replace it. sentences say
    in what the two differ.
    """

    def __init__(self, version: int, sentences: Iterable[str]) -> None:
        self.version = version
        self.sentences = tuple(sentences)
        super().__init__(joined(" ", self.sentences))


class Busy(FadelineError):
    """Too much is being worked on at once. Nothing was stored; says when to come back."""

    def __init__(self, words: str, retry_after_s: int) -> None:
        self.retry_after_s = retry_after_s
        super().__init__(words)


class LinkClosed(FadelineError):
    """A share link that opens nothing: wrong, ended or revoked, which is not told apart."""


class StorageError(FadelineError):
    """The data file or its disk cannot be used; the message says what to do."""


def problems_of(error: FadelineError) -> tuple[FieldError, ...]:
    """What to show beside a form that keeps what was typed, whatever went wrong."""
    if isinstance(error, InvalidInput):
        return error.problems
    if isinstance(error, EditConflict):
        return tuple(FieldError(sentence, "", "") for sentence in error.sentences)
    return (FieldError(error.words, "", ""),)


def truncate(text: str, length: int = 60) -> str:
    """Cut a value for display: a refusal must quote it without flooding the page."""
    # A lone surrogate cannot be sent to anyone.
    text = " ".join(text.encode(errors="replace").decode().split())
    return text if len(text) <= length else text[: length - 1] + "…"
