"""The newest comparable discharge curve of each battery, on scales that sizes share."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.analysis.comparison.discharge_curves import Curve, curve_of
from app.analysis.evidence.result import Result
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import Discharge
from app.domain.finding import EvidenceKind

# Beyond these two tests are not done alike (common practice; as the watching has them).
ALIKE_K, ALIKE_LOAD = 5.0, 1.25


@dataclass(frozen=True)
class LaidCurve:
    """Volts a cell against the charge counted in % of rated, as it was, without corrections.

    c_rate is the load in rated capacities an hour. alike says that load and temperature were like
    those of the first curve.
    """

    name: str
    on_date: date
    charge_percent: tuple[float, ...]
    cell_v: tuple[float, ...]
    c_rate: float
    temperature_c: float | None
    alike: bool


def newest_curves(
    sides: Sequence[tuple[str, BatteryDetails, Sequence[tuple[Discharge, Result]]]],
) -> tuple[LaidCurve, ...]:
    """One curve a side, of its newest measured test with voltages.

    After the first, a newest test under like load and at like temperature goes before a newer one
    that is unlike. Sides without any are left out.
    """
    made: list[LaidCurve] = []
    for name, about, tests in sides:
        newest_first = sorted(tests, key=lambda pair: pair[0].details.started_at, reverse=True)
        curves = [
            curve
            for test, result in newest_first
            if result.kind is EvidenceKind.MEASURED
            and not test.details.left_out_reason
            and (curve := curve_of(test, result)) is not None
        ]
        laid = [_laid(name, about, curve, made[0] if made else None) for curve in curves]
        if laid:
            made.append(next((one for one in laid if one.alike), laid[0]))
    return tuple(made)


def _laid(name: str, about: BatteryDetails, curve: Curve, first: LaidCurve | None) -> LaidCurve:
    cells = about.chemistry.cells_in_series(about.nominal_v)
    c_rate = curve.mean_current_a / about.rated_ah
    alike = first is None or (
        max(c_rate, first.c_rate) <= ALIKE_LOAD * min(c_rate, first.c_rate)
        and curve.temperature_c is not None
        and first.temperature_c is not None
        and abs(curve.temperature_c - first.temperature_c) <= ALIKE_K
    )
    return LaidCurve(
        name=name,
        on_date=curve.on_date,
        charge_percent=tuple(100 * charge / about.rated_ah for charge in curve.charge_ah),
        cell_v=tuple(volts / cells for volts in curve.voltage_v),
        c_rate=c_rate,
        temperature_c=curve.temperature_c,
        alike=alike,
    )
