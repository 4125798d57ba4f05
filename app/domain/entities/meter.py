"""The instrument that measured the current: what it may be wrong by."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from app.domain import quantity as q
from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say, transformed
from app.domain.limits import MAX_NAME_LENGTH

# A logger's noise may reach this at rest, whatever its meter promises (common practice).
LEAST_REST_A = 0.1


class MeterKind(StrEnum):
    """Kinds of meter; the value is what is stored."""

    SHUNT = "shunt"
    CLAMP = "clamp"
    WATTMETER = "wattmeter"
    GAUGE = "gauge"
    LABORATORY = "laboratory"

    @property
    def label(self) -> str:
        return say(_LABELS[self])

    @property
    def usual_name(self) -> str:
        """What a meter is called that nobody named; English, for it is stored and compared."""
        return _LABELS[self]


@dataclass(frozen=True)
class MeterDetails:
    """Limits of error of one meter, each read as "at most this far off" (rectangular)."""

    name: Annotated[
        str,
        Described(
            N_("Name"),
            "What the owner calls it.",
            longest=MAX_NAME_LENGTH,
            called=N_("name"),
        ),
    ]
    kind: Annotated[
        MeterKind,
        Described(N_("Kind"), "Kind of meter.", called=N_("kind of meter"), sent=True),
    ]
    gain_limit_percent: Annotated[
        float,
        Described(
            N_("Gain limit"),
            "The reading is off by at most this share.",
            q.METER_GAIN,
            sent=True,
        ),
    ]
    offset_limit_a: Annotated[
        float,
        Described(
            N_("Zero-point limit"),
            "The zero point is off by at most this.",
            q.METER_OFFSET,
            sent=True,
        ),
    ]
    resolution_a: Annotated[
        float,
        Described(
            N_("Smallest step"), "Smallest step that is shown.", q.METER_RESOLUTION, sent=True
        ),
    ]

    @property
    def rest_a(self) -> float:
        """The highest current that it may show where nothing flows."""
        return max(LEAST_REST_A, self.offset_limit_a + self.resolution_a / 2)

    @property
    def shown_name(self) -> str:
        """Its name; in the reader's language where nobody gave it one."""
        if self.name.casefold() != self.kind.usual_name.casefold():
            return self.name
        said = self.kind.label
        return transformed(said, _capital) if self.name[0].isupper() else said

    @property
    def limits_words(self) -> str:
        """Its kind and its limits for strangers; its name is private."""
        return say(
            "{kind}, off by at most {gain:g} % and {offset:g} A by its stated limits",
            kind=self.kind.label,
            gain=self.gain_limit_percent,
            offset=self.offset_limit_a,
        )


@dataclass(frozen=True)
class Meter:
    """A stored meter. Tests made with the same one share its gain error."""

    id: int
    details: MeterDetails
    version: int


_LABELS = {
    MeterKind.SHUNT: N_("shunt with display"),
    MeterKind.CLAMP: N_("clamp meter"),
    MeterKind.WATTMETER: N_("in-line wattmeter"),
    MeterKind.GAUGE: N_("the battery's own gauge"),
    MeterKind.LABORATORY: N_("laboratory instrument"),
}


def _capital(name: str) -> str:
    return name[0].upper() + name[1:]


def typical(kind: MeterKind) -> MeterDetails:
    """Typical limits by kind of meter: common practice, the maker's datasheet comes first.

    The laboratory line takes class 0.5 from IEC 60896-2-1:2002, clause 3.1.
    """
    gain, offset, resolution = {
        MeterKind.SHUNT: (1.0, 0.05, 0.1),
        MeterKind.CLAMP: (3.0, 0.3, 0.1),
        MeterKind.WATTMETER: (2.0, 0.1, 0.01),
        MeterKind.GAUGE: (3.0, 0.2, 0.1),
        MeterKind.LABORATORY: (0.5, 0.01, 0.001),
    }[kind]
    name = _capital(kind.usual_name)
    return MeterDetails(name, kind, gain, offset, resolution)
