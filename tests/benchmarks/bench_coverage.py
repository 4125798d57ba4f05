"""How often the 95 % interval of one test holds the truth, by meter and sampling interval.

Run by hand: python -m tests.benchmarks.bench_coverage [runs]
The truth: a battery whose capacity is drawn; a meter whose gain and zero are drawn within its
limits; a temperature that is read wrong by up to 2 K and a coefficient drawn within its limit; a
charge that misses full; a load of its own; the end seen at the readings only, or noted.
"""

import math
import random
import sys
from dataclasses import replace

from app.analysis.coefficients import temperature_coefficient
from app.analysis.result import analyse
from app.domain.battery import BatteryDetails
from app.domain.chemistry import Chemistry
from app.domain.discharge import ChargeCondition, EndReason
from app.domain.meter import MeterKind, typical
from app.domain.readings import column
from tests import simulation

METERS = (MeterKind.SHUNT, MeterKind.CLAMP, MeterKind.LABORATORY)
INTERVALS_H = (1 / 60, 0.25, 1.0)
RATED_AH = 100.0
LFP = temperature_coefficient(Chemistry.LFP)


def covered(chance: random.Random, kind: MeterKind, every_h: float) -> bool:
    """One test with a known truth: whether the interval holds it."""
    assert LFP is not None
    limits = typical(kind)
    truth = chance.uniform(60, 105)
    temperature = chance.uniform(2, 30)
    per_k = LFP.per_k + chance.uniform(-LFP.limit_per_k, LFP.limit_per_k)
    here = truth * (1 + per_k * (min(temperature, 20.0) - 20.0))
    full = 1 + chance.uniform(-0.005, 0.005)
    ohm = chance.uniform(0.9, 1.6)
    run = simulation.discharge(
        here * full,
        load=lambda volts, hours: volts / ohm * (1 + 0.03 * math.sin(2 * hours + ohm)),
        every_h=every_h,
        read_amps=simulation.meter(
            chance, limits.gain_limit_percent, limits.offset_limit_a, limits.resolution_a
        ),
        temperature_c=temperature + chance.uniform(-2, 2),
        last_reading=False,
        step_h=1 / 60,
    )
    # The clock gains or loses within its limit, and the end is noted within a minute.
    pace = 1 + chance.uniform(-0.001, 0.001)
    noted = run.end_h * pace + chance.uniform(-1, 1) / 60
    readings = replace(run.readings, elapsed_s=column(t * pace for t in run.readings.elapsed_s))
    battery = BatteryDetails("b", Chemistry.LFP, 12.8, RATED_AH)
    result = analyse(
        readings,
        charge_condition=ChargeCondition.FULL_RESTED,
        end_reason=EndReason.PROTECTION,
        empty_v=None,
        ended_after_h=noted,
        meter=limits,
        rated_ah=RATED_AH,
        battery=battery,
    )
    return abs(result.capacity_ah - truth) <= result.budget.expanded_ah


def main(runs: int) -> None:
    print(f"{runs} simulated tests each; the 95 % interval should hold 93 to 97 %")
    print(f"{'meter':28}" + "".join(f"{every * 60:>10.0f} min" for every in INTERVALS_H))
    for kind in METERS:
        shares = []
        for every_h in INTERVALS_H:
            chance = random.Random(f"{kind} {every_h}")
            shares.append(sum(covered(chance, kind, every_h) for _ in range(runs)) / runs)
        print(f"{kind.label:28}" + "".join(f"{100 * share:>12.1f} %" for share in shares))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
