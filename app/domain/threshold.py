"""What a battery must still hold: the level at which its life ends for its owner."""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.i18n.message import say


class ThresholdKind(StrEnum):
    """What the threshold is measured by; the value is what is stored."""

    RATED = "rated"
    FIRST_TEST = "first_test"
    NIGHTS = "nights"

    @property
    def label(self) -> str:
        return {
            ThresholdKind.RATED: say("a share of the rated capacity"),
            ThresholdKind.FIRST_TEST: say("a share of the first test's capacity"),
            ThresholdKind.NIGHTS: say("the amp-hours for some nights"),
        }[self]


@dataclass(frozen=True)
class Threshold:
    """Either an absolute capacity (ah) or a share of the fitted first capacity."""

    kind: ThresholdKind
    words: str
    ah: float | None = None
    share: float | None = None
