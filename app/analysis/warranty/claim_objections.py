"""What a maker could hold against a test that is to carry a warranty claim."""

from dataclasses import dataclass

from app.analysis.corrections.reference_conditions import same_rate
from app.analysis.evidence.result import Result
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, DischargeDetails
from app.domain.entities.meter import MeterDetails, MeterKind, typical
from app.domain.finding import Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, CelsiusAround, say

# IEC 62619, 7.1: capacity is tested at 25 ± 5 °C with 0.2 It, a discharge of five hours.
AROUND_K = 5.0


@dataclass(frozen=True)
class UsualRating:
    """The hours that a label without any is meant at, and how their source is named."""

    hours: float
    named: str


LITHIUM = UsualRating(5.0, N_("{share:.1f} of the capacity an hour, IEC 62619"))
# The usual rating of lead-acid batteries (US Army Ordnance OS 010, section 14).
LEAD_ACID = UsualRating(20.0, N_("the usual {hours:.0f}-hour rate"))
_USUAL_RATING = {
    Chemistry.LFP: LITHIUM,
    Chemistry.LITHIUM_ION: LITHIUM,
    Chemistry.FLOODED: LEAD_ACID,
    Chemistry.AGM: LEAD_ACID,
    Chemistry.GEL: LEAD_ACID,
}
# IEC 62660-2, 4.3: current within ± 1 % all in all.
METER_PERCENT = 1.0
CORRECTED = N_("{deviation}; the result is corrected for it.")
UNCORRECTED = N_("{deviation}; nothing corrects for it.")
# What makes a battery look better than it is under the promise's own conditions.
FLATTERING = ("temperature_hot", "rate_light")
# By how much at the most: from 10 to 20 % lie between a capacity over 5 h and one over 100 h
# (IEC 62257-8-1:2007, 3.12, note 2); a warm battery gains less than that (common practice).
MAX_FLATTERED = 1.20


def objections(
    test: DischargeDetails, result: Result, about: BatteryDetails, meter: MeterDetails | None
) -> tuple[Finding, ...]:
    """Deviations from the promise's own conditions, each with what a better test does.

    The promise is taken at the label's conditions: rated temperature ± 5 K, charged full and
    rested, at the rated current. One that can make a battery look worse than it is and that
    nothing corrected stands against the claim. The others are minor for the claim, since the
    uncertainty counts them or they make the battery look better: those are in FLATTERING.
    """
    found = (
        _temperature(result, about),
        _rate(result, about),
        _charge(test),
        _meter(meter),
    )
    return tuple(one for one in found if one is not None)


def rated_current_a(about: BatteryDetails) -> float:
    """The current that the label is meant at; the usual one where it does not say."""
    return about.rated_ah / (about.rated_hours or _USUAL_RATING[about.chemistry].hours)


def _applied(result: Result, code: str) -> bool:
    return any(one.code == code and one.applied for one in result.corrections)


def _temperature(result: Result, about: BatteryDetails) -> Finding | None:
    rated_c, here_c = about.rated_temperature_c, result.temperature_c
    if here_c is None:
        text = say(
            "No temperature was noted: the battery itself must be at {needed:g} (IEC 62619, 7.1).",
            needed=CelsiusAround(rated_c, AROUND_K),
        )
        return Finding("temperature_unknown", text)
    here = Celsius(here_c)
    if abs(here_c - rated_c) > AROUND_K:
        deviation = say(
            "Tested at {here:.0f} instead of {needed:g} (IEC 62619, 7.1)",
            here=here,
            needed=CelsiusAround(rated_c, AROUND_K),
        )
        if _applied(result, "temperature"):
            return Finding("temperature", say(CORRECTED, deviation=deviation), minor=True)
        if here_c < rated_c:
            return Finding("temperature_cold", say(UNCORRECTED, deviation=deviation))
        text = say(
            "{deviation}; nothing corrects for it, and a warm battery may give more.",
            deviation=deviation,
        )
        return Finding("temperature_hot", text, minor=True)
    if result.temperature_source == "air":
        text = say(
            "The air was at {here:.0f}; the battery’s own temperature was not noted.", here=here
        )
        return Finding("air_temperature", text, minor=True)
    return None


def _rate(result: Result, about: BatteryDetails) -> Finding | None:
    current, rated = result.delivered.mean_current_a, rated_current_a(about)
    if current is None:
        return Finding("rate_unknown", say("Neither its load nor its hours were noted."))
    if same_rate(current, rated):
        return None
    source = say("the label’s rate")
    if not about.rated_hours:
        usual = _USUAL_RATING[about.chemistry]
        source = say(usual.named, share=1 / usual.hours, hours=usual.hours)
    deviation = say(
        "Tested at {current_a:.3g} A instead of {rated_a:.3g} A ({source})",
        current_a=current,
        rated_a=rated,
        source=source,
    )
    if _applied(result, "rate"):
        return Finding("rate", say(CORRECTED, deviation=deviation), minor=True)
    if current > rated:
        return Finding("rate_heavy", say(UNCORRECTED, deviation=deviation))
    text = say(
        "{deviation}; no correction covers this, and a light load may get more out of the battery.",
        deviation=deviation,
    )
    return Finding("rate_light", text, minor=True)


def _charge(test: DischargeDetails) -> Finding | None:
    if test.charge_condition is ChargeCondition.FULL_RESTED:
        return None
    if test.charge_condition is ChargeCondition.FULL:
        text = say("It was charged full but not rested for an hour.")
        return Finding("not_rested", text, minor=True)
    text = say("It is not known to have been charged full: such a test can carry no claim.")
    return Finding("not_full", text)


def _meter(meter: MeterDetails | None) -> Finding | None:
    if meter is None:
        text = say("No meter was named; name the one that was used, with its limits.")
        return Finding("meter_unknown", text, minor=True)
    if meter.kind is MeterKind.GAUGE:
        text = say(
            "The battery’s own gauge did the counting; use a meter that is not part of the battery."
        )
        return Finding("meter_gauge", text)
    if meter.gain_limit_percent > METER_PERCENT:
        text = say(
            "The meter may be off by {limit_percent:g} %; {asked_percent:g} % or better is asked "
            "(IEC 62660-2, 4.3).",
            limit_percent=meter.gain_limit_percent,
            asked_percent=METER_PERCENT,
        )
        return Finding("meter_limits", text, minor=True)
    if meter == typical(meter.kind):
        text = say(
            "The meter’s limits are typical ones of its kind; a calibration would prove them."
        )
        return Finding("meter_typical", text, minor=True)
    return None
