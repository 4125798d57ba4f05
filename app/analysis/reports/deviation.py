"""Where a test was done otherwise than the label means it, and what was made of that."""

from dataclasses import dataclass

from app.analysis.corrections.coefficients import rate_exponent
from app.analysis.corrections.reference_conditions import (
    AIR_LIMIT_K,
    TEMPERATURE_LIMIT_K,
    Correction,
    same_rate,
)
from app.analysis.evidence.result import Result
from app.analysis.evidence.uncertainty import CHARGE_LIMIT
from app.analysis.reports.procedure import Procedure
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import Celsius, say, written_celsius

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


def _corrected(deviation: Deviation, correction: Correction, kind: EvidenceKind) -> Deviation:
    """Put beside a condition what the correction made of it."""
    held_back = kind is not EvidenceKind.MEASURED and correction.factor > 1
    applied = correction.applied and not held_back
    words = correction.words
    if held_back:
        words = say("No correction: Fadeline never raises a lower bound.")
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
    what, reference = say("temperature"), written_celsius(reference_c, "g")
    if test_c is None:
        return Deviation(what, reference, say("not noted"), "", False, True)
    if procedure.temperature_source == "battery":
        limit_k, test = TEMPERATURE_LIMIT_K, say("{mean:.1f} (battery, mean)", mean=Celsius(test_c))
    else:
        limit_k, test = AIR_LIMIT_K, say("{mean:.1f} (air)", mean=Celsius(test_c))
    return Deviation(what, reference, test, "", False, abs(test_c - reference_c) > limit_k)


def _rate(about: BatteryDetails, procedure: Procedure) -> Deviation:
    what = say("discharge current")
    mean_a = procedure.mean_current_a
    known = mean_a is not None
    test = say("{mean_a:.2f} A on average", mean_a=mean_a) if known else say("not noted")
    exponent = rate_exponent(about.chemistry)
    sensitive = exponent is None or exponent.exponent > RATE_MATTERS
    if about.rated_hours is None:
        return Deviation(what, say("hour rate not stated"), test, "", False, sensitive)
    reference_a = about.rated_ah / about.rated_hours
    differs = mean_a is None or not same_rate(mean_a, reference_a)
    reference = say(
        "{reference_a:.2f} A ({hours:g}-hour rate)",
        reference_a=reference_a,
        hours=about.rated_hours,
    )
    return Deviation(what, reference, test, "", False, differs and sensitive)


def _charge(condition: ChargeCondition, result: Result) -> Deviation:
    if condition.full:
        words = say(
            "Within {percent:g} % of full; counted in the uncertainty.",
            percent=CHARGE_LIMIT[condition] * 100,
        )
        if result.kind is not EvidenceKind.MEASURED:
            words = say("None: an incomplete charge cannot raise a lower bound.")
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
            "{end_reason}; last voltage {last_v:.2f}\xa0V",
            end_reason=procedure.end_reason,
            last_v=procedure.last_voltage_v,
        )
    if result.kind is EvidenceKind.MEASURED:
        words = say(
            "Moment of the end: {moment}; counted in the uncertainty.",
            moment=result.end.note or say("the last reading"),
        )
    else:
        words = say(
            "No addition for charge that may have been left: the result is a lower bound at best."
        )
    return Deviation(say("end of the discharge"), reference, test, words, False, False)
