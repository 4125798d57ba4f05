"""Time at temperature: how many hours a battery spent how warm, and what that does to its age."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats
from app.domain.chemistry import Chemistry
from app.domain.i18n.marks import N_
from app.domain.units.time_units import HOURS_PER_YEAR

GAS_CONSTANT = 8.314462618
ZERO_C_IN_K = 273.15
REFERENCE_C = 25.0


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
        """This mix of temperatures for another number of hours."""
        return Exposure(self.temperature_c, self.hours * (hours / self.total_h))

    def within(self, low_c: float, high_c: float) -> "Exposure":
        """The exposure with hours outside the two limits (°C) taken at the nearer limit."""
        return Exposure(np.clip(self.temperature_c, low_c, high_c), self.hours)

    def share_outside(self, low_c: float, high_c: float) -> float:
        """Share of the time below low_c or above high_c."""
        out = (self.temperature_c < low_c) | (self.temperature_c > high_c)
        return float(self.hours[out].sum() / self.total_h) if self.total_h else 0.0


@dataclass(frozen=True)
class ActivationEnergy:
    """How strongly ageing depends on temperature, with where that figure comes from."""

    joule_per_mol: float
    source: str

    def rate(self, temperature_c: Floats) -> Floats:
        """Ageing rate at temperatures (n,) in °C against that at 25 °C."""
        return arrhenius(temperature_c, self.joule_per_mol)

    @property
    def per_10_k(self) -> float:
        """How much faster it ages at 35 °C than at 25 °C."""
        return _per_10_k(self)


@dataclass(frozen=True)
class Halving:
    """The rule that life halves with every so many kelvin, with where it comes from."""

    kelvin: float
    source: str

    def rate(self, temperature_c: Floats) -> Floats:
        """Ageing rate at temperatures (n,) in °C against that at 25 °C."""
        made: Floats = np.exp2((np.asarray(temperature_c) - REFERENCE_C) / self.kelvin)
        return made

    @property
    def per_10_k(self) -> float:
        """How much faster it ages at 35 °C than at 25 °C."""
        return _per_10_k(self)


AgeingRule = ActivationEnergy | Halving


def _per_10_k(rule: AgeingRule) -> float:
    return float(rule.rate(np.array([REFERENCE_C + 10]))[0])


# Published figures for lithium iron phosphate differ: 1.4 to 2.2 for ten kelvin.
WEAK = ActivationEnergy(
    26_200.0,
    N_(
        "a maker's datasheet of a 304 Ah lithium iron phosphate cell: 3500 cycles at 25 °C, "
        "1800 at 45 °C"
    ),
)
MIDDLE = ActivationEnergy(
    2 * 17_126.0,
    N_(
        "Naumann and others, Journal of Energy Storage 17 (2018) 153-169, doi "
        "10.1016/j.est.2018.01.019: time to a loss goes with twice the energy of the loss"
    ),
)
STRONG = ActivationEnergy(
    60_400.0,
    N_(
        "Lam and others, A Decade of Insights, Joule (2024/25): time to 90 % of lithium "
        "iron phosphate cells between 24 and 60 °C, 49.6 to 60.4 kJ/mol"
    ),
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


SLOW_LEAD = Halving(
    10.0, N_("lead-acid, makers of flooded batteries: half the life with every 10 °C more")
)
FAST_LEAD = Halving(
    8.0,
    N_("lead-acid, sealed: 10 years at 25 °C, 5 at 33 °C, 2.5 at 41 °C (a public battery course)"),
)
LFP_RULES: tuple[AgeingRule, ...] = (WEAK, MIDDLE, STRONG)
_LEAD_RULES: tuple[AgeingRule, ...] = (SLOW_LEAD, FAST_LEAD)
# Empty where there is no published rule that we know of.
_RULES: dict[Chemistry, tuple[AgeingRule, ...]] = {
    Chemistry.LFP: LFP_RULES,
    Chemistry.LITHIUM_ION: (),
    Chemistry.FLOODED: _LEAD_RULES,
    Chemistry.AGM: _LEAD_RULES,
    Chemistry.GEL: _LEAD_RULES,
}


def ageing_rules(chemistry: Chemistry) -> tuple[AgeingRule, ...]:
    """The published rules for a chemistry, none where there is none we know of."""
    return _RULES[chemistry]


def ageing_factor(exposure: Exposure, rules: Sequence[AgeingRule] = LFP_RULES) -> AgeingFactor:
    """The mean of each rule's rate over the hours; nan for no time at all, or no rule.

    Where hot and cool hours mix, the rules may order otherwise than by strength: low and high are
    the extremes of all, middle is the one between, or their geometric mean.
    """
    if not exposure.total_h or not rules:
        return AgeingFactor(math.nan, math.nan, math.nan)
    made = [
        float(np.average(rule.rate(exposure.temperature_c), weights=exposure.hours))
        for rule in rules
    ]
    middle = made[1] if len(made) == 3 else math.sqrt(min(made) * max(made))
    return AgeingFactor(min(made), middle, max(made))
