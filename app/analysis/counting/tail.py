"""What a battery still holds when its voltage under load has already fallen to empty."""

import numpy as np

from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails

# Share of the capacity below a voltage of one cell, down to 2.5 V, at 25 °C and up to a tenth of
# the capacity per hour, and at a fifth: means of six types of lithium iron phosphate cells, from
# measured records (Plett's ESC toolbox; doi 10.17632/p8kf893yv3.1; 10.17632/kxsbr4x3j2.2;
# About-Energy BPX parameterisation; a 20 Ah cell published with battbundle; the tables of
# tum-ees/simses), with their standard uncertainties; at 3.1 V and a fifth our reading of the same.
# In Ah it stays about the same as a cell ages, so it is a share of the rated capacity.
# Most protections open near 2.5 V: what is left is rather the whole tail than none of it, and a
# longer tail than usual must not be missed.
DOUBTED = 2.0
_LFP_V = (2.5, 2.7, 2.8, 2.9, 3.0, 3.1)
_SLOW_C_RATE, _FAST_C_RATE = 0.1, 0.2
_SLOW_SHARE = (0.0, 0.005, 0.011, 0.021, 0.037, 0.062)
_SLOW_STANDARD = (0.0, 0.002, 0.004, 0.007, 0.011, 0.015)
_FAST_SHARE = (0.0, 0.007, 0.014, 0.025, 0.043, 0.070)
_FAST_STANDARD = (0.0, 0.0035, 0.006, 0.009, 0.013, 0.018)


def most_left_ah(battery: BatteryDetails, terminal_v: float, current_a: float) -> float | None:
    """The most that may be left at a voltage under load (Ah): the usual share and twice its doubt.

    None where no source knows the chemistry. A protection that opens before 2.5 V a cell leaves
    less, down to nothing.
    """
    if battery.chemistry is not Chemistry.LFP:
        return None
    cell_v = terminal_v / battery.chemistry.cells_in_series(battery.nominal_v)
    slow, fast = (
        float(np.interp(cell_v, _LFP_V, share) + DOUBTED * np.interp(cell_v, _LFP_V, standard))
        for share, standard in ((_SLOW_SHARE, _SLOW_STANDARD), (_FAST_SHARE, _FAST_STANDARD))
    )
    c_rate = current_a / battery.rated_ah
    return battery.rated_ah * float(np.interp(c_rate, (_SLOW_C_RATE, _FAST_C_RATE), (slow, fast)))
