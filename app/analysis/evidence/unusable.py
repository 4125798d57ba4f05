"""Why a test proves nothing at all."""

import numpy as np

from app.analysis.counting.delivered import Delivered
from app.analysis.counting.hidden_recharge import ON_LOAD_SHARE, unseen_charge
from app.analysis.counting.noted_charge import NotedCharge
from app.analysis.evidence.conditions import DischargeConditions
from app.domain.finding import Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_HOUR

BLIND_SHARE = 0.5
TOO_SHORT_SHARE = 0.05
# A new battery gives up to a tenth more than its rating (common practice); nothing beyond this is
# believed, whoever vouches for it.
MAX_OF_RATED = 1.2
TOO_MUCH = "more_than_possible"
RISE_SHARE = 1.03
_READINGS_TOO_MUCH = N_(
    "The readings add up to {charge_ah:.4g} Ah, but a battery rated {rated_ah:g} Ah gives at "
    "most {most_ah:.4g} Ah. Fadeline takes no result from them. Check the rated capacity, the "
    "unit of the currents and the times."
)
_NOTED_TOO_MUCH = N_(
    "The result is {charge_ah:.4g} Ah, but a battery rated {rated_ah:g} Ah gives at most "
    "{most_ah:.4g} Ah. Fadeline does not use it. Check the rated capacity, and whether the "
    "counter was reset before the test."
)


def why_unusable(delivered: Delivered | NotedCharge, about: DischargeConditions) -> Finding | None:
    """What spoils a test; None for one that proves something."""
    if isinstance(delivered, Delivered) and (spoilt := _course(delivered)) is not None:
        return spoilt
    if about.rated_ah is None:
        return None
    if delivered.charge_ah > MAX_OF_RATED * about.rated_ah:
        return Finding(
            TOO_MUCH,
            say(
                _READINGS_TOO_MUCH if isinstance(delivered, Delivered) else _NOTED_TOO_MUCH,
                charge_ah=delivered.charge_ah,
                rated_ah=about.rated_ah,
                most_ah=MAX_OF_RATED * about.rated_ah,
            ),
        )
    if delivered.charge_ah < TOO_SHORT_SHARE * about.rated_ah:
        return Finding(
            "too_short",
            say(
                "The test drew only {charge_ah:.2g} Ah, less than 5 % of the rated {rated_ah:g} "
                "Ah: that says nothing about the battery.",
                charge_ah=delivered.charge_ah,
                rated_ah=about.rated_ah,
            ),
        )
    return None


def _course(delivered: Delivered) -> Finding | None:
    """What is wrong with the course of the readings."""
    longest = float(np.diff(delivered.time_s).max())
    # A counter saw the hours in which nobody looked.
    if delivered.counter_step_ah is None and longest > BLIND_SHARE * delivered.duration_s:
        return Finding(
            "blind",
            say(
                "There is no reading for {longest_h:.1f} h of {duration_h:.1f} h: the load may "
                "have been off, so the test does not prove even a lower bound.",
                longest_h=longest / SECONDS_PER_HOUR,
                duration_h=delivered.duration_s / SECONDS_PER_HOUR,
            ),
        )
    rise = _rise(delivered)
    if rise is not None:
        return Finding(
            "charging",
            say(
                "The voltage rises from {first_v:.2f} V to {last_v:.2f} V while the current "
                "flows: that is how a charge looks, not a discharge.",
                first_v=rise[0],
                last_v=rise[1],
            ),
        )
    return unseen_charge(delivered)


def _rise(delivered: Delivered) -> tuple[float, float] | None:
    """First and last voltage under load where the whole record rises; None otherwise.

    Under a steady load the voltage of a discharge falls from begin to end; a battery that warms up
    gives a little back, never as much as this (common practice).
    """
    amps, volts = delivered.current_a, delivered.voltage_v
    if volts is None:
        return None
    known = volts[(amps > ON_LOAD_SHARE * amps.max()) & np.isfinite(volts)]
    if known.size < 2 or known[-1] <= RISE_SHARE * known[0]:
        return None
    return float(known[0]), float(known[-1])
