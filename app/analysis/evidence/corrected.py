"""What corrections to reference conditions make of one test."""

from app.analysis.corrections import reference_conditions
from app.analysis.corrections.coefficients import rate_exponent, temperature_coefficient
from app.analysis.corrections.reference_conditions import Correction
from app.analysis.evidence import uncertainty
from app.analysis.statistics.budget import Contribution
from app.domain.entities.battery import BatteryDetails
from app.domain.finding import EvidenceKind, Finding


def corrections_of(
    battery: BatteryDetails,
    mean_current_a: float | None,
    temperature_c: float | None,
    temperature_source: str,
) -> tuple[Correction, ...]:
    """The corrections of the temperature (°C) and of the rate; each says why where there is none.

    A current that nobody noted (A) is taken for a slow one in the doubt of the temperature.
    """
    limit_k = (
        reference_conditions.TEMPERATURE_LIMIT_K
        if temperature_source == "battery"
        else reference_conditions.AIR_LIMIT_K
    )
    c_rate = {} if mean_current_a is None else {"c_rate": mean_current_a / battery.rated_ah}
    return (
        reference_conditions.correct_temperature(
            temperature_coefficient(battery.chemistry),
            temperature_c,
            battery.rated_temperature_c,
            limit_k=limit_k,
            wanted=battery.corrects_temperature,
            **c_rate,
        ),
        reference_conditions.correct_rate(
            rate_exponent(battery.chemistry),
            mean_current_a,
            battery.rated_ah,
            battery.rated_hours,
            wanted=battery.corrects_rate,
        ),
    )


def factor_of(corrections: tuple[Correction, ...], kind: EvidenceKind) -> float:
    """All corrections together. A lower bound is never raised by one: that would claim more."""
    factor = 1.0
    for correction in corrections:
        factor *= (
            correction.factor if kind is EvidenceKind.MEASURED else min(1.0, correction.factor)
        )
    return factor


def correction_lines(
    corrections: tuple[Correction, ...], kind: EvidenceKind, capacity_ah: float
) -> list[Contribution]:
    """What the corrections that count add to the budget, and a condition that nobody noted; a lower
    bound is never raised by one."""
    return [
        line
        for correction in corrections
        if kind is EvidenceKind.MEASURED or correction.factor < 1 or not correction.applied
        for line in uncertainty.correction_lines(correction, capacity_ah)
    ]


def uncorrected(corrections: tuple[Correction, ...]) -> list[Finding]:
    """A test outside the range of a source is flagged."""
    return [
        # The rate matters little where the exponent is close to 1; the temperature does matter.
        Finding(
            f"no_{correction.code}_correction", correction.words, minor=correction.code == "rate"
        )
        for correction in corrections
        if correction.out_of_range
    ]
