"""What an analysis has to say in words, as data on its result."""

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a test can prove."""

    MEASURED = "measured"
    AT_LEAST = "at_least"
    UNUSABLE = "unusable"

    @property
    def label(self) -> str:
        return self.value.replace("_", " ")


@dataclass(frozen=True)
class Finding:
    """A reason or caveat: a code that never changes and one plain sentence.

    minor marks a remark that takes nothing away from the result.
    """

    code: str
    text: str
    minor: bool = False
