"""Where the uncertainty of one test comes from, line by line."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.corrections.reference_conditions import Correction
from app.analysis.counting.counted import counter_line
from app.analysis.counting.delivered import Delivered
from app.analysis.counting.sampling import sampling
from app.analysis.statistics.budget import Contribution, estimated, within
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterDetails
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_HOUR

# Clock of the logger or the watch: IEC 62660-2, 4.3.
CLOCK_LIMIT = 0.001
# How far a charge may miss what the maker calls full (common practice).
CHARGE_LIMIT = {ChargeCondition.FULL_RESTED: 0.005, ChargeCondition.FULL: 0.01}
NOTED_END_LIMIT_S = 60.0
# How far the current between the last reading and a noted end may be off (common practice).
BEYOND_LIMIT = 0.04
# What an empty battery may still give between its last reading and the moment it cuts off: below
# the knee the voltage falls within minutes (common practice).
CUT_OFF_TAIL = 0.01
# The same where nobody saw it cut off and only the voltage says that it was empty.
OPEN_TAIL = 0.03


@dataclass(frozen=True)
class End:
    """The moment of the end: the charge to add to what was counted, and within which limit."""

    shift_ah: float
    limit_ah: float
    note: str
    code: str = "end"


def end_of_test(
    delivered: Delivered,
    *,
    claimed: bool,
    cut_off_v: float | None,
    empty_v: float | None,
    left_ah: float | None = None,
) -> End:
    """Where between two readings the battery was empty.

    Where the end lies somewhere in a known stretch, half of its charge is taken off (or added),
    and half of it is the limit. What a battery that switched itself off may still have given after
    an empty last reading is such a stretch where left_ah (Ah) says how much that may be; elsewhere
    it is a limit only.
    """
    current = delivered.end_current_a
    last_v = delivered.last_voltage_v
    hours = np.diff(delivered.time_s) / SECONDS_PER_HOUR
    if delivered.reached_cut_off and cut_off_v is not None:
        half = 0.5 * _share_below(delivered, cut_off_v) * current * float(hours[-1])
        return End(-half, half, say("the voltage passed the cut-off between the last two readings"))
    if delivered.end_noted:
        return noted_end(delivered)
    usual = current * float(np.median(hours))
    if last_v is not None and empty_v is not None and last_v <= empty_v:
        if claimed and left_ah is not None:
            half = 0.5 * min(usual, left_ah)
            words = say(
                "not noted; at {last_v:.2f} V up to {left_ah:.1f} Ah may have been left",
                last_v=last_v,
                left_ah=2 * half,
            )
            return End(half, half, words, "tail")
        tail = CUT_OFF_TAIL if claimed else OPEN_TAIL
        limit = min(usual, tail * delivered.charge_ah)
        return End(
            0.0, limit, say("the last reading, already empty at {last_v:.2f} V", last_v=last_v)
        )
    half = 0.5 * usual
    return End(half, half, say("not noted: some time after the last reading"))


def noted_end(delivered: Delivered) -> End:
    """The end to the minute, and what the current did after the last reading, which nobody saw."""
    seconds = NOTED_END_LIMIT_S + BEYOND_LIMIT * delivered.beyond_s
    limit = delivered.end_current_a * seconds / SECONDS_PER_HOUR
    return End(0.0, limit, say("noted, within 1 min"))


def _share_below(delivered: Delivered, cut_off_v: float) -> float:
    """The last share of the last interval in which the voltage can have passed the cut-off.

    At the end the voltage falls ever faster, so it passes any level later than a straight line
    between the two readings would.
    """
    volts = delivered.voltage_v
    if volts is None or len(volts) < 2 or volts[-2] <= volts[-1]:
        return 1.0
    return float(np.clip((cut_off_v - volts[-1]) / (volts[-2] - volts[-1]), 0.0, 1.0))


def meter_lines(
    meter: MeterDetails, charge_ah: float, hours: float, factor: float = 1.0
) -> tuple[Contribution, ...]:
    """Gain, zero point and smallest step of the meter, and the clock.

    charge_ah is at reference conditions, factor what led there from the amp-hours counted. The
    gain is common to every test made with that meter.
    """
    return (
        within(
            "gain", say("meter: gain"), meter.gain_limit_percent, "%", charge_ah / 100, common=True
        ),
        within("offset", say("meter: zero point"), meter.offset_limit_a, "A", hours * factor),
        within(
            "resolution", say("meter: smallest step"), meter.resolution_a / 2, "A", hours * factor
        ),
        within("clock", say("clock"), CLOCK_LIMIT * 100, "%", charge_ah / 100),
    )


def sampling_line(delivered: Delivered, factor: float) -> Contribution:
    """What the current did between two readings, and after the last one (see sampling)."""
    if delivered.counter_step_ah is not None:
        return counter_line(delivered.counter_step_ah, factor)
    hours = delivered.time_s / SECONDS_PER_HOUR
    found = sampling(hours, delivered.current_a, delivered.beyond_s / SECONDS_PER_HOUR)
    return estimated(
        "sampling",
        say("current between the readings"),
        math.sqrt(found.variance),
        "Ah",
        factor,
        degrees_of_freedom=found.degrees_of_freedom,
        note=say("{count} intervals", count=len(hours) - 1),
    )


def end_line(end: End, factor: float) -> Contribution:
    """The line of the budget for the moment of the end: within end.limit_ah, in Ah times factor."""
    label = say("left after the last reading") if end.code == "tail" else say("moment of the end")
    return within(end.code, label, end.limit_ah, "Ah", factor, note=end.note)


def charge_line(condition: ChargeCondition, capacity_ah: float) -> Contribution:
    """How full "full" was."""
    limit = CHARGE_LIMIT.get(condition, 0.0) * 100
    return within("charge", say("completeness of the charge"), limit, "%", capacity_ah / 100)


def correction_lines(correction: Correction, capacity_ah: float) -> tuple[Contribution, ...]:
    """The coefficient of a correction, and the condition it was read at.

    A battery has one exponent: what it may be wrong by lies in all its tests, the more the further
    the current is from the rated one, and on the other side where it is below.
    """
    if not correction.applied:
        return _unnoted_line(correction, capacity_ah)
    code, label = (
        f"{correction.code}_coefficient",
        say("{correction}: coefficient", correction=correction.label),
    )
    if correction.standard_share is not None:
        standard = correction.standard_share * 100
        of_rate = correction.code == "rate"
        # What a larger exponent adds above the rated current it takes away below.
        side = math.copysign(1.0, correction.factor - 1) if of_rate else 1.0
        share = side * capacity_ah / 100
        lines = [estimated(code, label, standard, "%", share, common=of_rate)]
    else:
        unit = say("per K") if correction.code == "temperature" else ""
        sensitivity = correction.coefficient_sensitivity * capacity_ah
        lines = [within(code, label, correction.coefficient_limit, unit, sensitivity)]
    if correction.condition_sensitivity:
        lines.append(
            within(
                f"{correction.code}_reading",
                say("{correction}: reading", correction=correction.label),
                correction.condition_limit,
                "K",
                correction.condition_sensitivity * capacity_ah,
            )
        )
    return tuple(lines)


def _unnoted_line(correction: Correction, capacity_ah: float) -> tuple[Contribution, ...]:
    """What a condition that nobody noted may have made of the result."""
    if not correction.unnoted_share:
        return ()
    label = say("{correction}: not noted", correction=correction.label)
    share = correction.unnoted_share * 100
    return (estimated(f"{correction.code}_unnoted", label, share, "%", capacity_ah / 100),)
