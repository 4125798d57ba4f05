"""What share of its capacity a battery still gives in the cold, where a source covers it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.coefficients import temperature_coefficient
from app.analysis.reference import temperature_factor
from app.domain.battery import BatteryDetails
from app.domain.chemistry import Chemistry

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
        words = f"No published coefficient covers {about.chemistry.label}: nothing can be said."
        return ColdShare(temperature_c, None, None, None, words, "")
    for value, what in (
        (temperature_c, "the cold week's"),
        (about.rated_temperature_c, "the label's"),
    ):
        if not coefficient.covers(value):
            top = coefficient.flat_to_c or coefficient.to_c
            words = (
                f"The published coefficient covers {_shown(coefficient.from_c)} to {_shown(top)}; "
                f"{what} {_shown(value)} lies outside, and nothing is guessed beyond."
            )
            return ColdShare(temperature_c, None, None, None, words, coefficient.source)
    here = coefficient.effective(temperature_c)
    there = coefficient.effective(about.rated_temperature_c)
    ends = [
        1 / temperature_factor(coefficient.per_k + limit, here, there)
        for limit in (-coefficient.limit_per_k, 0.0, coefficient.limit_per_k)
    ]
    low, middle, high = sorted(ends)
    words = f"{middle * 100:.0f} % of its capacity at {_shown(about.rated_temperature_c)}"
    if high > low:
        words += f" ({low * 100:.0f} to {high * 100:.0f} %)"
    return ColdShare(
        temperature_c,
        middle,
        low,
        high,
        f"At {_shown(temperature_c)} it gives {words}.",
        coefficient.source,
    )


def _shown(temperature_c: float) -> str:
    return f"{temperature_c:g} °C".replace("-", "−")


def may_charge(chemistry: Chemistry, temperature_c: float) -> bool:
    """Lithium batteries are not charged below 0 °C (a maker's cell sheet: charge at 0 to 60 °C)."""
    lithium = chemistry in (Chemistry.LFP, Chemistry.LITHIUM_ION)
    return not (lithium and temperature_c < FREEZING_C)
