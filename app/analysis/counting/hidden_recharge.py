"""Telling that a battery was charged during a rest in which only 0 A were logged."""

import numpy as np
from numpy.typing import NDArray

from app.analysis.counting.delivered import Delivered
from app.domain.finding import Finding
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_HOUR

# From this share of the largest current on a reading counts as under the load (common practice).
ON_LOAD_SHARE = 0.5
LEAST_REST_S = 600.0
# Under the same load the voltage only falls. One that fell by this much before a rest, and is back
# after it when a twentieth of the whole charge has flowed again, was lifted by a charge: what a
# rest alone gives back is gone by then (common practice; with a margin for a battery that warms).
FALLEN_SHARE, BACK_SHARE, SETTLED_SHARE = 0.985, 0.995, 0.05
SAME_LOAD_SHARE = 0.1


def unseen_charge(delivered: Delivered) -> Finding | None:
    """The first rest after which the voltage under the same load is back where it began."""
    volts = delivered.voltage_v
    if volts is None:
        return None
    amps, time = delivered.current_a, delivered.time_s
    loaded = np.flatnonzero(amps > ON_LOAD_SHARE * amps.max())
    settled_ah = SETTLED_SHARE * float(delivered.count_ah[-1])
    begin = _level(delivered, loaded, int(loaded[0]), settled_ah)
    rests = np.flatnonzero((np.diff(loaded) > 1) & (np.diff(time[loaded]) >= LEAST_REST_S))
    for last, next_row in zip(loaded[rests], loaded[rests + 1], strict=True):
        back = _level(delivered, loaded, int(next_row), settled_ah)
        if begin is None or back is None:
            continue
        same_load = abs(back[1] - begin[1]) <= SAME_LOAD_SHARE * begin[1]
        fell = volts[last] <= FALLEN_SHARE * begin[0]
        if same_load and fell and back[0] >= BACK_SHARE * begin[0]:
            rest_h = (time[next_row] - time[last]) / SECONDS_PER_HOUR
            return Finding(
                "recharged",
                say(
                    "Before a rest of {rest_h:.1f} h the voltage under load had fallen to "
                    "{fallen_v:.2f} V; well after the rest it was back at {back_v:.2f} V, as at "
                    "the start. Something charged the battery in between: these are two "
                    "discharges.",
                    rest_h=rest_h,
                    fallen_v=volts[last],
                    back_v=back[0],
                ),
            )
    return None


def _level(
    delivered: Delivered, loaded: NDArray[np.intp], first: int, settled_ah: float
) -> tuple[float, float] | None:
    """Voltage and current under load once settled_ah have flowed from a row on, until twice that.

    None where no more came.
    """
    flowed = delivered.count_ah[loaded] - delivered.count_ah[first]
    rows = loaded[(flowed >= settled_ah) & (flowed <= 2 * settled_ah)]
    if delivered.voltage_v is None or not rows.size:
        return None
    return float(np.median(delivered.voltage_v[rows])), float(np.median(delivered.current_a[rows]))
