"""What the voltages of a record are worth: slips bridged, impossible ones set aside."""

from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats
from app.domain.finding import Finding
from app.domain.i18n.message import say, say_plural

# A lone reading this far below both its neighbours, while these agree, is a slip.
DIP_SHARE = 0.8
NEIGHBOURS_AGREE = 1.05
# A battery under load stays within these shares of its nominal voltage (common practice).
LOW_SHARE, HIGH_SHARE = 0.6, 1.4


@dataclass(frozen=True)
class Voltages:
    """Voltages of every row (nan where none was read or a slip was taken out)."""

    volts: Floats
    caveats: tuple[Finding, ...]


def usable_voltages(volts: Floats, nominal_v: float | None) -> Voltages:
    """Take out lone dips, and all voltages where they cannot be this battery's terminals.

    One stray low voltage must not end a test as if the battery had been empty.
    """
    found = []
    known = np.flatnonzero(np.isfinite(volts))
    cleaned = volts.copy()
    if known.size >= 3:
        here, before, after = volts[known[1:-1]], volts[known[:-2]], volts[known[2:]]
        low, high = np.minimum(before, after), np.maximum(before, after)
        dips = known[1:-1][(here < DIP_SHARE * low) & (high <= NEIGHBOURS_AGREE * low)]
        if dips.size:
            row = int(dips[0])
            words = say_plural(
                "Reading {row} says {odd_v:.4g} V between higher ones: it was not used. Please "
                "correct it.",
                "Reading {row} says {odd_v:.4g} V between higher ones ({count} such readings): it "
                "was not used. Please correct it.",
                dips.size,
                row=row + 1,
                odd_v=volts[row],
            )
            found.append(Finding("voltage_dip", words))
            cleaned[dips] = np.nan
    usual = float(np.nanmedian(cleaned)) if known.size else None
    if nominal_v is not None and usual is not None:
        share = usual / nominal_v
        if not LOW_SHARE <= share <= HIGH_SHARE:
            words = say(
                "Fadeline did not use the voltages: around {usual_v:.3g} V does not suit a "
                "{nominal_v:g} V battery. Are they those of one cell, or in another unit?",
                usual_v=usual,
                nominal_v=nominal_v,
            )
            found.append(Finding("voltage_unlikely", words))
            cleaned = np.full_like(volts, np.nan)
    return Voltages(cleaned, tuple(found))
