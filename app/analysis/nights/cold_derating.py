"""What share of its capacity a battery still gives in the cold, where a source covers it."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.corrections.coefficients import (
    SLOW_C_RATE,
    OfTemperature,
    TemperatureTable,
    temperature_coefficient,
)
from app.analysis.corrections.reference_conditions import temperature_factor
from app.analysis.statistics.arrays import Floats
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, say, written_celsius

STEPS = 9
# From which temperature it may be charged, None for any. Lithium from 0 °C: a maker's cell
# datasheet, charge at 0 to 60 °C. Lead-acid: common practice.
_CHARGED_FROM_C = {
    Chemistry.LFP: 0.0,
    Chemistry.LITHIUM_ION: 0.0,
    Chemistry.FLOODED: None,
    Chemistry.AGM: None,
    Chemistry.GEL: None,
}
WEEK_OUTSIDE = N_(
    "The published coefficient covers {lowest:g} to {highest:g}; the cold week's {at:g} lies "
    "outside, and Fadeline does not guess beyond it."
)
LABEL_OUTSIDE = N_(
    "The published coefficient covers {lowest:g} to {highest:g}; the label's {at:g} lies "
    "outside, and Fadeline does not guess beyond it."
)
GIVES = N_("At {at:g} it gives {percent:.0f} % of its capacity at {rated:g}.")
GIVES_ABOUT = N_(
    "At {at:g} it gives {percent:.0f} % of its capacity at {rated:g} ({low:.0f} to {high:.0f} %)."
)


@dataclass(frozen=True)
class ColdShare:
    """The share of the reference capacity at a temperature; None where nothing covers it.

    low and high are its limits, by those of the coefficient (rectangular). It is that of the slow
    rates at which a house battery is used.
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
        return written_celsius(self.temperature_c, "g")

    @property
    def likely(self) -> Floats:
        """Equally likely shares; empty where nothing is known."""
        if self.low is None or self.high is None:
            return np.empty(0)
        steps: Floats = self.low + (self.high - self.low) * (np.arange(STEPS) + 0.5) / STEPS
        return steps


def cold_share(about: BatteryDetails, temperature_c: float) -> ColdShare:
    """The share of its capacity that a battery gives at a temperature (°C).

    The coefficient that corrects tests is used the other way, and never beyond its range.
    """
    coefficient = temperature_coefficient(about.chemistry)
    if coefficient is None:
        words = say(
            "No published coefficient covers {chemistry}: nothing can be said.",
            chemistry=about.chemistry.label,
        )
        return ColdShare(temperature_c, None, None, None, words, "")
    rated_c = about.rated_temperature_c
    for value_c, outside in ((temperature_c, WEEK_OUTSIDE), (rated_c, LABEL_OUTSIDE)):
        if not coefficient.covers(value_c):
            words = say(
                outside,
                lowest=Celsius(coefficient.from_c),
                highest=Celsius(coefficient.to_c),
                at=Celsius(value_c),
            )
            return ColdShare(temperature_c, None, None, None, words, coefficient.source)
    low, middle, high = _limits(coefficient, temperature_c, rated_c)
    words = say(
        GIVES_ABOUT if high > low else GIVES,
        at=Celsius(temperature_c),
        percent=middle * 100,
        rated=Celsius(rated_c),
        low=low * 100,
        high=high * 100,
    )
    return ColdShare(temperature_c, middle, low, high, words, coefficient.source)


def _limits(
    coefficient: OfTemperature, temperature_c: float, rated_c: float
) -> tuple[float, float, float]:
    """Least, middle and largest share; a standard uncertainty as the rectangle of the same."""
    if isinstance(coefficient, TemperatureTable):
        share = coefficient.share(temperature_c, rated_c)
        reach = math.sqrt(3) * coefficient.standard(temperature_c, rated_c, SLOW_C_RATE)
        # The colder battery never gives more.
        most = 1.0 if temperature_c < rated_c else math.inf
        return share - reach, share, min(share + reach, most)
    low, middle, high = sorted(
        1 / temperature_factor(coefficient.per_k + limit, temperature_c, rated_c)
        for limit in (-coefficient.limit_per_k, 0.0, coefficient.limit_per_k)
    )
    return low, middle, high


def may_charge(chemistry: Chemistry, temperature_c: float) -> bool:
    """Whether such a battery may be charged when it is that cold."""
    lowest_c = _CHARGED_FROM_C[chemistry]
    return lowest_c is None or temperature_c >= lowest_c
