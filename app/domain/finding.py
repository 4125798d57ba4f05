"""What an analysis has to say in words, as data on its result."""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.i18n.message import say


class Kind(StrEnum):
    """What a test can prove."""

    MEASURED = "measured"
    AT_LEAST = "at_least"
    UNUSABLE = "unusable"

    @property
    def label(self) -> str:
        return {
            Kind.MEASURED: say("measured"),
            Kind.AT_LEAST: say("at least"),
            Kind.UNUSABLE: say("unusable"),
        }[self]


@dataclass(frozen=True)
class Finding:
    """A reason or caveat: a code that never changes and one plain sentence.

    minor marks a remark that takes nothing away from the result; discharge_ids are the tests that
    it speaks of, for a page to name and link.
    """

    code: str
    text: str
    minor: bool = False
    discharge_ids: tuple[int, ...] = ()
