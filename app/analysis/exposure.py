"""Time at temperature: how many hours a battery spent how warm, and what that does to its age."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
GAS_CONSTANT = 8.314462618
ZERO_C_IN_K = 273.15
REFERENCE_C = 25.0
HOURS_PER_YEAR = 8766.0
SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Exposure:
    """Hours at temperatures; both arrays (n,). The order does not matter."""

    temperature_c: Floats
    hours: Floats

    @classmethod
    def of(cls, pairs: Sequence[tuple[float, float]]) -> "Exposure":
        """From pairs of °C and hours."""
        table = np.array(pairs, dtype=np.float64).reshape(-1, 2)
        return cls(table[:, 0], table[:, 1])

    @property
    def total_h(self) -> float:
        return float(self.hours.sum())

    @property
    def mean_c(self) -> float:
        """Mean temperature in °C; nan for no time at all."""
        return float(np.average(self.temperature_c, weights=self.hours)) if self.total_h else np.nan

    def plus(self, other: "Exposure") -> "Exposure":
        """Both, one after the other."""
        return Exposure(
            np.concatenate((self.temperature_c, other.temperature_c)),
            np.concatenate((self.hours, other.hours)),
        )

    def lasting(self, hours: float) -> "Exposure":
        """The same mix of temperatures for another time."""
        return Exposure(self.temperature_c, self.hours * (hours / self.total_h))

    def share_outside(self, low_c: float, high_c: float) -> float:
        """Share of the time below low_c or above high_c."""
        out = (self.temperature_c < low_c) | (self.temperature_c > high_c)
        return float(self.hours[out].sum() / self.total_h) if self.total_h else 0.0


@dataclass(frozen=True)
class ActivationEnergy:
    """How strongly ageing depends on temperature, with where that figure comes from."""

    joule_per_mol: float
    source: str

    @property
    def per_10_k(self) -> float:
        """How much faster it ages at 35 °C than at 25 °C."""
        return float(arrhenius(np.array([35.0]), self.joule_per_mol)[0])


# Published figures for lithium iron phosphate differ: 1.4 to 2.2 for ten kelvin.
WEAK = ActivationEnergy(
    26_200.0,
    "a maker's sheet of a 304 Ah lithium iron phosphate cell: 3500 cycles at 25 °C, 1800 at 45 °C",
)
MIDDLE = ActivationEnergy(
    2 * 17_126.0,
    "Naumann and others, Journal of Energy Storage 17 (2018) 153-169, "
    "doi 10.1016/j.est.2018.01.019: time to a loss goes with twice the energy of the loss",
)
STRONG = ActivationEnergy(
    60_400.0,
    "Lam and others, A Decade of Insights, Joule (2024/25): time to 90 % of lithium iron "
    "phosphate cells between 24 and 60 °C, 49.6 to 60.4 kJ/mol",
)


def arrhenius(temperature_c: Floats, joule_per_mol: float) -> Floats:
    """Ageing rate at temperatures (n,) in °C against that at 25 °C: exp(E/R (1/T0 - 1/T))."""
    kelvin = np.asarray(temperature_c, dtype=np.float64) + ZERO_C_IN_K
    made: Floats = np.exp(
        joule_per_mol / GAS_CONSTANT * (1 / (REFERENCE_C + ZERO_C_IN_K) - 1 / kelvin)
    )
    return made


@dataclass(frozen=True)
class AgeingFactor:
    """How much faster it aged than at 25 °C: low and high by the weakest and strongest figure."""

    low: float
    middle: float
    high: float

    def equivalent_years(self, hours: float) -> tuple[float, float, float]:
        """Years at 25 °C that age as much as these hours did."""
        years = hours / HOURS_PER_YEAR
        return self.low * years, self.middle * years, self.high * years


def ageing_factor(exposure: Exposure) -> AgeingFactor:
    """The mean of the Arrhenius rate over the hours; nan for no time at all.

    Where hot and cool hours mix, the published energies may order otherwise than by size: low and
    high are the extremes of all three.
    """
    if not exposure.total_h:
        return AgeingFactor(math.nan, math.nan, math.nan)
    made = [
        float(
            np.average(
                arrhenius(exposure.temperature_c, energy.joule_per_mol), weights=exposure.hours
            )
        )
        for energy in (WEAK, MIDDLE, STRONG)
    ]
    return AgeingFactor(min(made), made[1], max(made))
