"""What somebody typed into a form of a running test, in words: it is shown where nothing of it
could be stored, so that it can be copied."""

from collections.abc import Mapping

from app.domain.errors import truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say

_FIELDS = {
    "current_a": (N_("Current"), "A"),
    "voltage_v": (N_("Voltage"), "V"),
    # As it was typed, whichever degrees those were.
    "temperature_c": (N_("Battery"), "°"),
    "gauge_percent": (N_("Gauge"), "%"),
    "counted_ah": (N_("Counter"), "Ah"),
    "clock": (N_("Time"), ""),
    "reason": (N_("reason"), ""),
    "end_clock": (N_("Time it ended"), ""),
}


def typed_words(values: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """The fields of a form that hold something, each with its name and unit."""
    return tuple(
        (say(label), f"{truncate(values[name].strip())} {unit}".strip())
        for name, (label, unit) in _FIELDS.items()
        if values.get(name, "").strip()
    )
