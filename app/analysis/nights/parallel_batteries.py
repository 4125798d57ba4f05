"""Two batteries in parallel: what both hold together."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from app.analysis.battery.capacity_forecast import (
    LIKELY,
    Basis,
    CapacityForecast,
    Interval,
    gain_factors,
    interval,
)
from app.analysis.nights.cold_derating import ColdShare
from app.analysis.nights.nights import usable
from app.analysis.statistics.arrays import Floats
from app.domain.entities.battery import BatteryDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say


@dataclass(frozen=True)
class BatteryCapacity:
    """One of the two, with what it may hold and what the cold leaves of it."""

    about: BatteryDetails
    ahead: CapacityForecast
    cold: ColdShare | None = None

    @property
    def kept(self) -> float:
        return 1 - self.about.reserve_share

    @property
    def warm(self) -> "BatteryCapacity":
        """This battery at room temperature."""
        return replace(self, cold=None)


def check_pair(one: BatteryDetails, other: BatteryDetails) -> None:
    """Raises InvalidInput for two that must not be connected in parallel."""
    pairs = (
        (
            say("chemistry of {name}", name=other.name),
            one.chemistry.label,
            other.chemistry.label,
        ),
        (
            say("nominal voltage of {name}", name=other.name),
            say("{nominal_v:g} V", nominal_v=one.nominal_v),
            say("{nominal_v:g} V", nominal_v=other.nominal_v),
        ),
    )
    for where, here, there in pairs:
        if here != there:
            raise InvalidInput.because(
                where,
                there,
                say(
                    "{here}, as {name} has: unequal batteries must not be joined in parallel",
                    here=here,
                    name=one.name,
                ),
                "beside",
            )


def basis_of(one: BatteryCapacity, other: BatteryCapacity) -> Basis:
    """The weaker evidence of the two."""
    both = {one.ahead.basis, other.ahead.basis}
    return next(b for b in (Basis.LABEL, Basis.AT_LEAST, Basis.TESTS) if b in both)


def pair_usable(
    one: BatteryCapacity, other: BatteryCapacity, day: date, *, later: bool
) -> Interval:
    """Amp-hours above both reserves on a day.

    Today what the tests of each do not tell is independent, and adds in quadrature; the gain of a
    meter that both were tested with is common. later says that the day is still to come: what ages
    one may age the other, so that their doubts are added in full.
    """
    basis = basis_of(one, other)
    if basis is Basis.TESTS:
        return interval(_both(one, other, day, later=later))
    parts = [usable(side.ahead, side.about, day, side.cold) for side in (one, other)]
    if basis is Basis.AT_LEAST:
        return Interval(sum(part.low or 0.0 for part in parts), None, None)
    middles = (part.middle if part.middle is not None else part.low for part in parts)
    return Interval(None, sum(value or 0.0 for value in middles), None)


def _both(one: BatteryCapacity, other: BatteryCapacity, day: date, *, later: bool) -> Floats:
    meter = one.ahead.meter_id
    same_meter = meter is not None and meter == other.ahead.meter_id
    sides = []
    for side in (one, other):
        likely = side.kept * side.ahead.on(day)
        if not same_meter:
            likely = _thinned(np.multiply.outer(likely, gain_factors(side.ahead.gain)))
        sides.append(likely)
    shared = gain_factors(max(one.ahead.gain, other.ahead.gain)) if same_meter else np.ones(1)
    sums = []
    for here, there in _shares(one, other):
        a, b = sides[0] * here, sides[1] * there
        added = a + b if later else np.add.outer(a, b).ravel()
        sums.append(np.multiply.outer(added, shared).ravel())
    return np.concatenate(sums)


def _shares(one: BatteryCapacity, other: BatteryCapacity) -> list[tuple[float, float]]:
    """What the cold leaves of each; one coefficient is behind both, so they go together."""
    if one.cold is None or other.cold is None:
        return [(1.0, 1.0)]
    return list(zip(one.cold.likely.tolist(), other.cold.likely.tolist(), strict=True))


def _thinned(values: Floats) -> Floats:
    """As many equally likely values again, rising."""
    levels = (np.arange(LIKELY) + 0.5) / LIKELY
    thinned: Floats = np.quantile(values, levels, method="hazen")
    return thinned
