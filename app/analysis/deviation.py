"""Where a test was done otherwise than the label means it, and what was made of that."""

from dataclasses import dataclass

from app.analysis.coefficients import rate_exponent
from app.analysis.procedure import Procedure
from app.analysis.reference import (
    AIR_LIMIT_K,
    SAME_RATE_SHARE,
    TEMPERATURE_LIMIT_K,
    Correction,
)
from app.analysis.result import Result
from app.analysis.uncertainty import CHARGE_LIMIT
from app.domain.battery import BatteryDetails
from app.domain.discharge import ChargeCondition
from app.domain.finding import Kind
from app.domain.saying import say

# An exponent nearer to 1 changes the capacity by little at any usual current (common practice).
RATE_MATTERS = 1.05


@dataclass(frozen=True)
class Deviation:
    """One condition: as the label means it, as the test had it, and what was done about it.

    weighs says that it differs, or is not known, by enough to matter and that nothing corrects it:
    the result then holds at the test's own condition only.
    """

    what: str
    reference: str
    test: str
    treatment: str
    corrected: bool
    weighs: bool


def deviations(
    about: BatteryDetails, condition: ChargeCondition, procedure: Procedure, result: Result
) -> tuple[Deviation, ...]:
    """Temperature, current, charge and end of a test, beside the label's."""
    temperature = _temperature(about, procedure)
    rate = _rate(about, procedure)
    made = [
        _corrected(one, correction, result.kind)
        for one, correction in zip((temperature, rate), result.corrections, strict=False)
    ]
    return (*made, _charge(condition, result), _end(procedure, result))


def uncorrected(found: tuple[Deviation, ...]) -> tuple[str, ...]:
    """What the result holds at its own conditions only, because nothing corrects it."""
    return tuple(one.what for one in found if one.weighs)


def _corrected(deviation: Deviation, correction: Correction, kind: Kind) -> Deviation:
    """Put beside a condition what the correction made of it."""
    held_back = kind is not Kind.MEASURED and correction.factor > 1
    applied = correction.applied and not held_back
    words = correction.words
    if held_back:
        words = say("Nothing is corrected: a lower bound is never raised by a correction.")
    elif correction.applied:
        words = say("Corrected by × {factor:.4f}. {words}", factor=correction.factor, words=words)
    return Deviation(
        deviation.what,
        deviation.reference,
        deviation.test,
        words,
        applied,
        deviation.weighs and not correction.applied,
    )


def _temperature(about: BatteryDetails, procedure: Procedure) -> Deviation:
    reference_c, test_c = about.rated_temperature_c, procedure.temperature_c
    if test_c is None:
        return Deviation("temperature", f"{reference_c:g} °C", say("not noted"), "", False, True)
    battery = procedure.temperature_source == "battery"
    limit_k = TEMPERATURE_LIMIT_K if battery else AIR_LIMIT_K
    where = say("battery, mean") if battery else "air"
    return Deviation(
        "temperature",
        f"{reference_c:g} °C",
        f"{test_c:.1f} °C ({where})",
        "",
        False,
        abs(test_c - reference_c) > limit_k,
    )


def _rate(about: BatteryDetails, procedure: Procedure) -> Deviation:
    test = say("{mean_current_a:.2f} A on average", mean_current_a=procedure.mean_current_a)
    exponent = rate_exponent(about.chemistry)
    sensitive = exponent is None or exponent.exponent > RATE_MATTERS
    if about.rated_hours is None:
        said = say("hour rate not stated")
        return Deviation(say("discharge current"), said, test, "", False, sensitive)
    reference_a = about.rated_ah / about.rated_hours
    differs = abs(procedure.mean_current_a / reference_a - 1) > SAME_RATE_SHARE
    return Deviation(
        say("discharge current"),
        say(
            "{reference_a:.2f} A ({rated_hours:g}-hour rate)",
            reference_a=reference_a,
            rated_hours=about.rated_hours,
        ),
        test,
        "",
        False,
        differs and sensitive,
    )


def _charge(condition: ChargeCondition, result: Result) -> Deviation:
    if condition.full:
        limit = CHARGE_LIMIT[condition] * 100
        words = say("Within {limit:g} % of full; counted in the uncertainty.", limit=limit)
        if result.kind is not Kind.MEASURED:
            words = say("None: a charge that fell short makes a lower bound no larger.")
    else:
        words = say("Not corrected: the result is a lower bound at best.")
    return Deviation(
        say("charge before it"),
        say("full, by the maker's method"),
        condition.label,
        words,
        False,
        False,
    )


def _end(procedure: Procedure, result: Result) -> Deviation:
    reference = say("battery electrically empty")
    test = procedure.end_reason
    if procedure.last_voltage_v is not None:
        test = say(
            "{test}; last voltage {last_voltage_v:.2f}\xa0V",
            test=test,
            last_voltage_v=procedure.last_voltage_v,
        )
    if result.kind is Kind.MEASURED:
        note = result.end.note or say("the last reading")
        words = say("Moment of the end: {note}; counted in the uncertainty.", note=note)
    else:
        words = say(
            "Nothing is added for what may have been left: the result is a lower bound at best."
        )
    return Deviation(say("end of the discharge"), reference, test, words, False, False)
