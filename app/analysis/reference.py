"""Correction to reference conditions: what the test would have given as the label is meant."""

import math
from dataclasses import dataclass, replace

from app.analysis.coefficients import RateExponent, TemperatureCoefficient
from app.domain.noted import noted
from app.domain.saying import Celsius, CelsiusRange, say

# Within this share of the reference current the rate makes no difference worth correcting.
SAME_RATE_SHARE = 0.20
TEMPERATURE_LIMIT_K = 2.0
AIR_LIMIT_K = 5.0
_TEST_OUTSIDE = noted(
    "The test at {temperature:.0f} lies outside {range:g}, which the source "
    "covers: nothing is corrected, and the result holds at its own temperature only."
)
_LABEL_OUTSIDE = noted(
    "The reference at {temperature:.0f} lies outside {range:g}, which the source "
    "covers: nothing is corrected, and the result holds at its own temperature only."
)
_FLAT = noted("Between {temperature:.1f} and {reference:g} the capacity hardly changes.")
_SLOPED = noted("From {temperature:.1f} to {reference:g} at {percent_per_k:.2g} %/K.")
_SAME_RATE = noted(
    "{current_a:.3g} A is within 20 % of the rated {reference_a:.3g} A: no correction is needed."
)
_RATE_OUTSIDE = noted(
    "{current_a:.3g} A is {c_rate:.2g} of the capacity per hour, outside {from_c_rate:g} to "
    "{to_c_rate:g} where the rule holds: nothing is corrected."
)
_SWITCHED_OFF = noted("Switched off for this battery.")


@dataclass(frozen=True)
class Correction:
    """One correction, applied or not.

    The capacity is multiplied by factor (1 where it is not applied; words say why, and
    out_of_range that conditions lie where the source does not reach). The two
    sensitivities are relative: the share of the capacity per unit of the coefficient and per
    unit of the measured condition.
    """

    code: str
    label: str
    applied: bool
    factor: float
    words: str
    source: str
    out_of_range: bool = False
    coefficient: float | None = None
    coefficient_limit: float = 0.0
    coefficient_sensitivity: float = 0.0
    condition_limit: float = 0.0
    condition_sensitivity: float = 0.0


def temperature_factor(per_k: float, temperature_c: float, reference_c: float) -> float:
    """1 / (1 + a (T - T_ref)): the form of IEC 60896; temperatures in °C."""
    return 1 / (1 + per_k * (temperature_c - reference_c))


def same_rate(current_a: float, reference_a: float) -> bool:
    """Whether a test's mean current is near enough to the rated one to count as the same."""
    return abs(current_a / reference_a - 1) <= SAME_RATE_SHARE


def rate_factor(exponent: float, current_a: float, reference_a: float) -> float:
    """(I / I_ref)^(n - 1): Peukert's rule in its rated-hours form."""
    return float((current_a / reference_a) ** (exponent - 1))


def correct_temperature(
    coefficient: TemperatureCoefficient | None,
    temperature_c: float | None,
    reference_c: float,
    *,
    limit_k: float = TEMPERATURE_LIMIT_K,
    wanted: bool = True,
) -> Correction:
    """The temperature correction, refused by words where the source does not reach."""
    label, source = say("temperature"), "" if coefficient is None else coefficient.source

    def left(words: str) -> Correction:
        return Correction("temperature", label, False, 1.0, words, source)

    if not wanted:
        return left(say(_SWITCHED_OFF))
    if coefficient is None:
        return left(say("No published coefficient for this chemistry: nothing is corrected."))
    if temperature_c is None:
        return left(say("No temperature was noted: nothing is corrected."))
    outside = _outside_of(coefficient, temperature_c, reference_c)
    if outside:
        return replace(left(outside), out_of_range=True)
    here, there = coefficient.effective(temperature_c), coefficient.effective(reference_c)
    factor = temperature_factor(coefficient.per_k, here, there)
    flat = here == there
    words = say(
        _FLAT if flat else _SLOPED,
        temperature=Celsius(temperature_c),
        reference=Celsius(reference_c),
        percent_per_k=coefficient.per_k * 100,
    )
    return Correction(
        "temperature",
        label,
        True,
        factor,
        words,
        source,
        coefficient=coefficient.per_k,
        coefficient_limit=coefficient.limit_per_k,
        coefficient_sensitivity=abs(here - there) * factor,
        condition_limit=limit_k,
        # On the flat part, or at its edge, a kelvin more or less changes nothing on that side.
        condition_sensitivity=0.0
        if flat and here == coefficient.to_c
        else coefficient.per_k * factor,
    )


def _outside_of(
    coefficient: TemperatureCoefficient, temperature_c: float, reference_c: float
) -> str:
    """Which of the two temperatures the source does not cover, in words; empty where it does."""
    top = coefficient.flat_to_c or coefficient.to_c
    for value, outside in ((temperature_c, _TEST_OUTSIDE), (reference_c, _LABEL_OUTSIDE)):
        if not coefficient.covers(value):
            return say(
                outside, temperature=Celsius(value), range=CelsiusRange(coefficient.from_c, top)
            )
    return ""


def correct_rate(
    exponent: RateExponent | None,
    current_a: float,
    rated_ah: float,
    rated_hours: float | None,
    *,
    wanted: bool = True,
) -> Correction:
    """The rate correction (Peukert), refused by words where the rule does not hold."""
    label, source = say("rate"), "" if exponent is None else exponent.source

    def left(words: str) -> Correction:
        return Correction("rate", label, False, 1.0, words, source)

    if not wanted:
        return left(say(_SWITCHED_OFF))
    if exponent is None:
        return left(say("No exponent is known for this chemistry: nothing is corrected."))
    if rated_hours is None:
        return left(say("The label's hour rate is not known: nothing is corrected."))
    reference_a = rated_ah / rated_hours
    if same_rate(current_a, reference_a):
        return left(say(_SAME_RATE, current_a=current_a, reference_a=reference_a))
    for value in (current_a, reference_a):
        if not exponent.covers(value / rated_ah):
            words = say(
                _RATE_OUTSIDE,
                current_a=value,
                c_rate=value / rated_ah,
                from_c_rate=exponent.from_c_rate,
                to_c_rate=exponent.to_c_rate,
            )
            return replace(left(words), out_of_range=True)
    factor = rate_factor(exponent.exponent, current_a, reference_a)
    return Correction(
        "rate",
        label,
        True,
        factor,
        say(
            "From {current_a:.3g} A to {reference_a:.3g} A with exponent {exponent:g}.",
            current_a=current_a,
            reference_a=reference_a,
            exponent=exponent.exponent,
        ),
        source,
        coefficient=exponent.exponent,
        coefficient_limit=exponent.limit,
        coefficient_sensitivity=abs(math.log(current_a / reference_a)),
    )
