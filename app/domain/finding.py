"""What an analysis has to say in words, as data on its result."""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.i18n.message import say


class EvidenceKind(StrEnum):
    """What a test can prove."""

    MEASURED = "measured"
    AT_LEAST = "at_least"
    UNUSABLE = "unusable"

    @property
    def label(self) -> str:
        return {
            EvidenceKind.MEASURED: say("measured"),
            EvidenceKind.AT_LEAST: say("at least"),
            EvidenceKind.UNUSABLE: say("unusable"),
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
