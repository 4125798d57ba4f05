"""Where the uncertainty of a test comes from of which only the result was noted."""

from dataclasses import replace

from app.analysis.corrections.coefficients import rate_exponent
from app.analysis.corrections.reference_conditions import correct_rate
from app.analysis.counting.noted_charge import NotedCharge
from app.analysis.evidence import uncertainty
from app.analysis.statistics.budget import Contribution, within
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterDetails
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say

# All limits here are common practice.
# A test that nobody followed took up to a day, and a steady load that nobody noted empties a
# battery in 5 to 20 hours.
MAX_HOURS = 24.0
USUAL_HOURS = (5.0, 20.0)
# What may have come and gone unseen: a charger or the sun, a counter that sets itself. Who noted
# the hours and the load has looked.
UNSEEN_PERCENT, LOOKED_PERCENT = 3.0, 1.5
# The voltage by which watt-hours become amp-hours: a mean by eye, or the nominal one.
VOLTAGE_PERCENT = 2.0
# Shares of the charge that the moment of the end may be worth: a counter stops with the load, but
# nobody saw with what. Whoever noted the last voltage was there.
UNSEEN_END, NOTED_END = 0.04, 0.02


def noted_lines(
    noted: NotedCharge,
    meter: MeterDetails,
    battery: BatteryDetails,
    kind: EvidenceKind,
    condition: ChargeCondition,
    factor: float,
) -> list[Contribution]:
    """The lines of the budget without those of the corrections, in Ah at reference conditions.

    factor is what the corrections make of an amp-hour that was counted.
    """
    capacity_ah = noted.charge_ah * factor
    percent_ah = capacity_ah / 100
    lines = [
        *_meter_lines(noted, meter, capacity_ah, factor),
        within(
            "counter",
            say("last digit of the result"),
            noted.step_ah,
            "Ah",
            factor,
            note=say("noted to {step_ah:.2g} Ah", step_ah=noted.step_ah),
        ),
        within(
            "unseen_load",
            say("load and chargers during the test"),
            LOOKED_PERCENT if noted.has_looks else UNSEEN_PERCENT,
            "%",
            percent_ah,
            note=say("nobody noted the current in between"),
        ),
    ]
    if noted.volts_by_hand:
        words = say("voltage to convert watt-hours")
        lines.append(within("mean_voltage", words, VOLTAGE_PERCENT, "%", percent_ah))
    if kind is EvidenceKind.MEASURED:
        lines.append(_end_line(noted, factor))
        lines.append(uncertainty.charge_line(condition, capacity_ah))
        if noted.mean_current_a is None:
            lines += _rate_lines(battery, capacity_ah)
    return lines


def _meter_lines(
    noted: NotedCharge, meter: MeterDetails, capacity_ah: float, factor: float
) -> tuple[Contribution, ...]:
    known = noted.duration_h
    hours = MAX_HOURS if known is None else known
    lines = uncertainty.meter_lines(meter, capacity_ah, hours, factor)
    if known is not None:
        return lines
    guessed = say("hours not noted: allows for up to {hours:.0f} h", hours=hours)
    return tuple(
        replace(one, note=guessed) if one.code in ("offset", "resolution") else one for one in lines
    )


def _end_line(noted: NotedCharge, factor: float) -> Contribution:
    seen = noted.last_voltage_v is not None
    share = NOTED_END if seen else UNSEEN_END
    note = (
        say("the last voltage was noted")
        if seen
        else say("nobody noted the voltage at which it ended")
    )
    return within("end", say("moment of the end"), share * noted.charge_ah, "Ah", factor, note=note)


def _rate_lines(battery: BatteryDetails, capacity_ah: float) -> list[Contribution]:
    """What the correction of the rate would have been, where nobody noted the current."""
    factors = [
        correct_rate(
            rate_exponent(battery.chemistry),
            battery.rated_ah / hours,
            battery.rated_ah,
            battery.rated_hours,
            wanted=battery.corrects_rate,
        ).factor
        for hours in USUAL_HOURS
    ]
    limit = max(abs(one - 1) for one in factors)
    if not limit:
        return []
    note = say(
        "nobody noted the current; {shortest:.0f} to {longest:.0f} h are usual",
        shortest=USUAL_HOURS[0],
        longest=USUAL_HOURS[1],
    )
    return [within("unseen_current", say("rate"), limit * 100, "%", capacity_ah / 100, note=note)]
