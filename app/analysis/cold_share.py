"""What share of its capacity a battery still gives in the cold, where a source covers it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.coefficients import temperature_coefficient
from app.analysis.reference import temperature_factor
from app.domain.battery import BatteryDetails
from app.domain.chemistry import Chemistry
from app.domain.saying import say

Floats = NDArray[np.float64]
STEPS = 9
FREEZING_C = 0.0


@dataclass(frozen=True)
class ColdShare:
    """The share of the reference capacity at a temperature; None where nothing covers it.

    low and high are its limits, by those of the coefficient (rectangular).
    """

    temperature_c: float
    middle: float | None
    low: float | None
    high: float | None
    words: str
    source: str

    @property
    def at(self) -> str:
        """The temperature in words."""
        return _shown(self.temperature_c)

    @property
    def likely(self) -> Floats:
        """Equally likely shares; empty where nothing is known."""
        if self.low is None or self.high is None:
            return np.empty(0)
        steps: Floats = self.low + (self.high - self.low) * (np.arange(STEPS) + 0.5) / STEPS
        return steps


def cold_share(about: BatteryDetails, temperature_c: float) -> ColdShare:
    """The same coefficient that corrects tests, used the other way; never beyond its range."""
    coefficient = temperature_coefficient(about.chemistry)
    if coefficient is None:
        words = say(
            "No published coefficient covers {label}: nothing can be said.",
            label=about.chemistry.label,
        )
        return ColdShare(temperature_c, None, None, None, words, "")
    for value, what in (
        (temperature_c, say("the cold week's")),
        (about.rated_temperature_c, say("the label's")),
    ):
        if not coefficient.covers(value):
            top = coefficient.flat_to_c or coefficient.to_c
            words = say(
                "The published coefficient covers {shown} to {shown_2}; {what} {shown_3} lies "
                "outside, and nothing is guessed beyond.",
                shown=_shown(coefficient.from_c),
                shown_2=_shown(top),
                what=what,
                shown_3=_shown(value),
            )
            return ColdShare(temperature_c, None, None, None, words, coefficient.source)
    here = coefficient.effective(temperature_c)
    there = coefficient.effective(about.rated_temperature_c)
    ends = [
        1 / temperature_factor(coefficient.per_k + limit, here, there)
        for limit in (-coefficient.limit_per_k, 0.0, coefficient.limit_per_k)
    ]
    low, middle, high = sorted(ends)
    words = say(
        "{middle:.0f} % of its capacity at {shown}",
        middle=middle * 100,
        shown=_shown(about.rated_temperature_c),
    )
    if high > low:
        words += say(" ({low:.0f} to {high:.0f} %)", low=low * 100, high=high * 100)
    return ColdShare(
        temperature_c,
        middle,
        low,
        high,
        say("At {shown} it gives {words}.", shown=_shown(temperature_c), words=words),
        coefficient.source,
    )


def _shown(temperature_c: float) -> str:
    return f"{temperature_c:g} °C".replace("-", "−")


def may_charge(chemistry: Chemistry, temperature_c: float) -> bool:
    """Lithium batteries are not charged below 0 °C (a maker's cell sheet: charge at 0 to 60 °C)."""
    lithium = chemistry in (Chemistry.LFP, Chemistry.LITHIUM_ION)
    return not (lithium and temperature_c < FREEZING_C)
