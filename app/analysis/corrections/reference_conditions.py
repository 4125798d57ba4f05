"""Correction to reference conditions: what the test would have given as the label is meant."""

import math
from dataclasses import dataclass, replace

from app.analysis.corrections.coefficients import (
    SLOW_C_RATE,
    OfTemperature,
    RateExponent,
    TemperatureCoefficient,
    TemperatureTable,
)
from app.analysis.statistics.budget import rectangular
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, CelsiusRange, say

# Within this share of the reference current the rate makes no difference worth correcting.
SAME_RATE_SHARE = 0.20
TEMPERATURE_LIMIT_K = 2.0
AIR_LIMIT_K = 5.0
# Between which temperatures a battery is taken to be tested where nobody noted one (common
# practice: makers' sheets ask for care outside of them).
UNNOTED_C = (10.0, 40.0)
_TEST_OUTSIDE = N_(
    "The source covers {range:g}; the test was at {temperature:.0f}. Fadeline corrects nothing, "
    "and the result holds only at its own temperature."
)
_LABEL_OUTSIDE = N_(
    "The source covers {range:g}; the reference is {temperature:.0f}. Fadeline corrects nothing, "
    "and the result holds only at its own temperature."
)
_TABLE = N_(
    "At {temperature:.1f} a battery gives {percent:.1f} % of its capacity at {reference:g} (± "
    "{doubt_percent:.1f} %, standard uncertainty; measured on small cells)."
)
_SLOPED = N_("From {temperature:.1f} to {reference:g} at {percent_per_k:.2g} %/K.")
_SAME_RATE = N_(
    "{current_a:.3g} A is within 20 % of the rated {reference_a:.3g} A: no correction is needed."
)
_RATE_OUTSIDE = N_(
    "The rule holds from {from_c_rate:g} to {to_c_rate:g} of the capacity per hour; "
    "{current_a:.3g} A is {c_rate:.2g}. Fadeline corrects nothing."
)
_EXPONENT = N_("From {current_a:.3g} A to {reference_a:.3g} A with exponent {exponent:g}.")
_SMALL_CELLS = N_(
    "From {current_a:.3g} A to {reference_a:.3g} A: {change_percent:+.1f} % (± "
    "{doubt_percent:.1f} %, standard uncertainty; measured on small cells)."
)
_SWITCHED_OFF = N_("Switched off for this battery.")


@dataclass(frozen=True)
class Correction:
    """One correction, applied or not.

    The capacity is multiplied by factor (1 where it is not applied; words say why, and
    out_of_range that conditions lie where the source does not reach). The two
    sensitivities are relative: the share of the capacity per unit of the coefficient and per
    unit of the measured condition. standard_share is the relative standard uncertainty of a
    source that gives one instead of a limit of its coefficient. unnoted_share is that of a
    condition which nobody noted, so that nothing could be corrected.
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
    standard_share: float | None = None
    condition_limit: float = 0.0
    condition_sensitivity: float = 0.0
    unnoted_share: float = 0.0


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
    coefficient: OfTemperature | None,
    temperature_c: float | None,
    reference_c: float,
    *,
    limit_k: float = TEMPERATURE_LIMIT_K,
    c_rate: float = SLOW_C_RATE,
    wanted: bool = True,
) -> Correction:
    """The temperature correction, refused by words where the source does not reach."""
    label, source = say("temperature"), "" if coefficient is None else coefficient.source

    def left(words: str) -> Correction:
        return Correction("temperature", label, False, 1.0, words, source)

    if not wanted:
        return left(say(_SWITCHED_OFF))
    if coefficient is None:
        return left(say("No published coefficient for this chemistry, so no correction."))
    if temperature_c is None:
        ends = [
            correct_temperature(coefficient, end, reference_c, c_rate=c_rate) for end in UNNOTED_C
        ]
        return replace(
            left(
                say(
                    "No temperature noted, so no correction; it may have been {range:g}.",
                    range=CelsiusRange(*UNNOTED_C),
                )
            ),
            unnoted_share=max(map(_doubt_of, ends)),
        )
    outside = _outside_of(coefficient, temperature_c, reference_c)
    if outside:
        return replace(left(outside), out_of_range=True)
    made = replace(left(""), applied=True, condition_limit=limit_k)
    if isinstance(coefficient, TemperatureTable):
        return _by_table(made, coefficient, temperature_c, reference_c, c_rate)
    return _by_slope(made, coefficient, temperature_c, reference_c)


def _doubt_of(one: Correction) -> float:
    """What is left out where a correction is not made: all of it, and its own doubt (relative)."""
    own = one.standard_share
    if own is None:
        own = rectangular(one.coefficient_limit * one.coefficient_sensitivity)
    return math.hypot(rectangular(one.factor - 1), own)


def _by_slope(
    made: Correction, coefficient: TemperatureCoefficient, temperature_c: float, reference_c: float
) -> Correction:
    factor = temperature_factor(coefficient.per_k, temperature_c, reference_c)
    return replace(
        made,
        factor=factor,
        words=say(
            _SLOPED,
            temperature=Celsius(temperature_c),
            reference=Celsius(reference_c),
            percent_per_k=coefficient.per_k * 100,
        ),
        coefficient=coefficient.per_k,
        coefficient_limit=coefficient.limit_per_k,
        coefficient_sensitivity=abs(temperature_c - reference_c) * factor,
        condition_sensitivity=coefficient.per_k * factor,
    )


def _by_table(
    made: Correction,
    table: TemperatureTable,
    temperature_c: float,
    reference_c: float,
    c_rate: float,
) -> Correction:
    share = table.share(temperature_c, reference_c)
    standard = table.standard(temperature_c, reference_c, c_rate)
    return replace(
        made,
        factor=1 / share,
        words=say(
            _TABLE,
            temperature=Celsius(temperature_c),
            reference=Celsius(reference_c),
            percent=share * 100,
            doubt_percent=standard * 100,
        ),
        standard_share=standard / share,
        condition_sensitivity=table.slope(temperature_c) / share,
    )


def _outside_of(coefficient: OfTemperature, temperature_c: float, reference_c: float) -> str:
    """Which of the two temperatures the source does not cover, in words; empty where it does."""
    for value, outside in ((temperature_c, _TEST_OUTSIDE), (reference_c, _LABEL_OUTSIDE)):
        if not coefficient.covers(value):
            reach = CelsiusRange(coefficient.from_c, coefficient.to_c)
            return say(outside, temperature=Celsius(value), range=reach)
    return ""


def correct_rate(
    exponent: RateExponent | None,
    current_a: float | None,
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
        return left(say("No known exponent for this chemistry, so no correction."))
    if rated_hours is None:
        return left(say("The label's hour rate is not known, so no correction."))
    if current_a is None:
        return left(say("Neither load nor hours noted, so no correction."))
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
                to_c_rate=exponent.last_c_rate,
            )
            return replace(left(words), out_of_range=True)
    return _by_exponent(left(""), exponent, current_a, reference_a, rated_ah)


def _by_exponent(
    made: Correction, one: RateExponent, current_a: float, reference_a: float, rated_ah: float
) -> Correction:
    own, further = one.spans(current_a / rated_ah, reference_a / rated_ah)
    log_factor = (one.exponent - 1) * own
    if not one.standard:
        words = say(_EXPONENT, current_a=current_a, reference_a=reference_a, exponent=one.exponent)
        return replace(
            made,
            applied=True,
            factor=math.exp(log_factor),
            words=words,
            coefficient=one.exponent,
            coefficient_limit=one.limit,
            coefficient_sensitivity=abs(own),
        )
    standard = one.standard * abs(own)
    if one.beyond is not None:
        log_factor += (one.beyond.exponent - 1) * further
        standard = math.hypot(standard, rectangular(one.beyond.limit) * further)
    factor = math.exp(log_factor)
    words = say(
        _SMALL_CELLS,
        current_a=current_a,
        reference_a=reference_a,
        change_percent=(factor - 1) * 100,
        doubt_percent=standard * 100,
    )
    return replace(made, applied=True, factor=factor, words=words, standard_share=standard)
