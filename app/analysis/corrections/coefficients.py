"""Published coefficients, read from app/data/coefficients.json, where each has its source."""

import json
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from app.domain.chemistry import Chemistry
from app.domain.i18n.message import say

_FILE = Path(__file__).resolve().parents[2] / "data" / "coefficients.json"
# The table of temperatures was measured at slow rates. At half the capacity per hour the changes
# are two to three times as large (our judgement): the doubt grows with the rate to that.
SLOW_C_RATE, FAST_C_RATE, FAST_DOUBT = 0.1, 0.5, 2.5


@dataclass(frozen=True)
class TemperatureCoefficient:
    """Capacity changes by per_k (± limit_per_k, rectangular) for one kelvin, from_c to to_c."""

    per_k: float
    limit_per_k: float
    from_c: float
    to_c: float
    source: str

    def covers(self, temperature_c: float) -> bool:
        return self.from_c <= temperature_c <= self.to_c


@dataclass(frozen=True)
class TemperatureTable:
    """The share of the capacity at 25 °C that is there at each of some temperatures.

    standards are the standard uncertainties of the shares; in between lie straight lines.
    """

    celsius: tuple[float, ...]
    shares: tuple[float, ...]
    standards: tuple[float, ...]
    source: str

    @property
    def from_c(self) -> float:
        return self.celsius[0]

    @property
    def to_c(self) -> float:
        return self.celsius[-1]

    def covers(self, temperature_c: float) -> bool:
        return self.from_c <= temperature_c <= self.to_c

    def share(self, temperature_c: float, reference_c: float) -> float:
        """What is there at one temperature, as a share of what is there at another."""
        here, there = np.interp([temperature_c, reference_c], self.celsius, self.shares)
        return float(here / there)

    def standard(self, temperature_c: float, reference_c: float, c_rate: float) -> float:
        """Standard uncertainty of that share; both ends rest on the same cells, the worse counts.

        It grows above the slow rates at which the table was measured.
        """
        worse = float(np.interp([temperature_c, reference_c], self.celsius, self.standards).max())
        faster = math.log(max(1.0, c_rate / SLOW_C_RATE)) / math.log(FAST_C_RATE / SLOW_C_RATE)
        return worse * (1 + (FAST_DOUBT - 1) * faster)

    def slope(self, temperature_c: float) -> float:
        """Share per kelvin at a temperature, the steeper side of a bend."""
        around = np.interp(temperature_c + np.array([-1.0, 0.0, 1.0]), self.celsius, self.shares)
        return float(np.abs(np.diff(around)).max())


OfTemperature = TemperatureCoefficient | TemperatureTable


@dataclass(frozen=True)
class Steeper:
    """The exponent (± limit, rectangular) that follows from where another one ends."""

    exponent: float
    limit: float
    to_c_rate: float


@dataclass(frozen=True)
class RateExponent:
    """Peukert's exponent, valid between two C-rates (per hour).

    Its doubt is a limit (rectangular) or a standard uncertainty. Below held_to_c_rate the capacity
    is that at this rate; above to_c_rate another exponent may follow.
    """

    exponent: float
    limit: float
    from_c_rate: float
    to_c_rate: float
    source: str
    standard: float = 0.0
    held_to_c_rate: float = 0.0
    beyond: Steeper | None = None

    @property
    def last_c_rate(self) -> float:
        """The highest rate that is covered."""
        return self.to_c_rate if self.beyond is None else self.beyond.to_c_rate

    def covers(self, c_rate: float) -> bool:
        return self.from_c_rate <= c_rate <= self.last_c_rate

    def spans(self, c_rate: float, reference_c_rate: float) -> tuple[float, float]:
        """ln of the ratio of two rates: the part under this exponent, the part beyond it."""
        own, further = (
            self._logs(c_rate)[part] - self._logs(reference_c_rate)[part] for part in (0, 1)
        )
        return own, further

    def _logs(self, c_rate: float) -> tuple[float, float]:
        held = max(c_rate, self.held_to_c_rate)
        if self.beyond is None:
            return math.log(held), 0.0
        own = min(held, self.to_c_rate)
        return math.log(own), math.log(held / own)


@cache
def _table() -> dict[str, dict[str, dict[str, Any] | None]]:
    loaded: dict[str, dict[str, dict[str, Any] | None]] = json.loads(
        _FILE.read_text(encoding="utf-8")
    )
    return loaded


def temperature_coefficient(chemistry: Chemistry) -> OfTemperature | None:
    """None where no published coefficient is known for the chemistry."""
    entry = _table()["temperature"][chemistry.value]
    if entry is None:
        return None
    if "celsius" not in entry:
        return TemperatureCoefficient(**_said(entry))
    celsius, shares, standards = (tuple(entry[name]) for name in ("celsius", "shares", "standards"))
    return TemperatureTable(celsius, shares, standards, say(entry["source"]))


def rate_exponent(chemistry: Chemistry) -> RateExponent | None:
    """The published Peukert exponent of a chemistry with its source; None where there is none."""
    entry = _table()["rate"][chemistry.value]
    if entry is None:
        return None
    beyond = entry.get("beyond")
    return RateExponent(
        **{"limit": 0.0} | _said(entry) | {"beyond": None if beyond is None else Steeper(**beyond)}
    )


def _said(entry: dict[str, Any]) -> dict[str, Any]:
    return {**entry, "source": say(entry["source"])}
