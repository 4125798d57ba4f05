"""Published coefficients, read from app/data/coefficients.json, where each has its source."""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from app.domain.chemistry import Chemistry
from app.domain.saying import say

_FILE = Path(__file__).resolve().parent.parent / "data" / "coefficients.json"


@dataclass(frozen=True)
class TemperatureCoefficient:
    """Capacity changes by per_k (± limit_per_k, rectangular) for one kelvin, from_c to to_c.

    From to_c to flat_to_c it does not change; elsewhere nothing is known.
    """

    per_k: float
    limit_per_k: float
    from_c: float
    to_c: float
    flat_to_c: float | None
    source: str

    def covers(self, temperature_c: float) -> bool:
        return self.from_c <= temperature_c <= max(self.to_c, self.flat_to_c or self.to_c)

    def effective(self, temperature_c: float) -> float:
        """The temperature as far as it matters: the flat part counts as its lower end."""
        return temperature_c if self.flat_to_c is None else min(temperature_c, self.to_c)


@dataclass(frozen=True)
class RateExponent:
    """Peukert's exponent (± limit, rectangular), valid between two C-rates (per hour)."""

    exponent: float
    limit: float
    from_c_rate: float
    to_c_rate: float
    source: str

    def covers(self, c_rate: float) -> bool:
        return self.from_c_rate <= c_rate <= self.to_c_rate


@cache
def _table() -> dict[str, dict[str, dict[str, Any] | None]]:
    loaded: dict[str, dict[str, dict[str, Any] | None]] = json.loads(
        _FILE.read_text(encoding="utf-8")
    )
    return loaded


def temperature_coefficient(chemistry: Chemistry) -> TemperatureCoefficient | None:
    """None where no published coefficient is known for the chemistry."""
    entry = _table()["temperature"][chemistry.value]
    return None if entry is None else TemperatureCoefficient(**_said(entry))


def rate_exponent(chemistry: Chemistry) -> RateExponent | None:
    """The published Peukert exponent of a chemistry with its source; None where there is none."""
    entry = _table()["rate"][chemistry.value]
    return None if entry is None else RateExponent(**_said(entry))


def sources() -> tuple[str, ...]:
    """Every source as it stands in the file, for the catalogues of other languages."""
    entries = (entry for part in ("temperature", "rate") for entry in _table()[part].values())
    return tuple(str(entry["source"]) for entry in entries if entry is not None)


def _said(entry: dict[str, Any]) -> dict[str, Any]:
    return {**entry, "source": say(entry["source"])}
