"""How often the 95 % interval of one test holds the truth, on tidy and on ordinary days.

Run by hand: python -m tests.benchmarks.bench_coverage [runs] [other] [rows with these words]
The truth: a battery whose capacity is drawn; a meter whose gain and zero are drawn within its
limits; a temperature that is read wrong by up to 2 K and a capacity that depends on it and on the
current within the doubt of the sources; a charge that misses full; a load of its own; the end seen
at the readings only, or noted. The rules of sampling were tuned on tests/ordinary_days.py; with
"other", tests/other_days.py, built otherwise, judges them.
"""

import random
import sys
from array import array
from dataclasses import dataclass, replace

from app.analysis.evidence.result import Result, analyse
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind, typical
from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings, column
from tests import ordinary_days, other_days, simulation

METERS = (MeterKind.SHUNT, MeterKind.CLAMP, MeterKind.LABORATORY)
RATED_AH = ordinary_days.RATED_AH


@dataclass(frozen=True)
class Row:
    """One kind of day: how often it is read, whether the minute of the end was noted."""

    label: str
    load: str
    every_h: float
    noted: bool = True
    missed: float = 0.0
    slip: bool = False


ROWS = (
    Row("tidy, every minute", "resistor", 1 / 60),
    Row("tidy, every 15 min", "resistor", 0.25),
    Row("tidy, hourly", "resistor", 1.0),
    Row("compressor on a base load, every minute", "compressor", 1 / 60),
    Row("compressor on a base load, every 15 min", "compressor", 0.25),
    Row("compressor on a base load, hourly", "compressor", 1.0),
    Row("base load of 2 to 5 % of the peak, every 15 min", "small base", 0.25),
    Row("base load of 2 to 5 % of the peak, hourly", "small base", 1.0),
    Row("load in steps, every 15 min", "steps", 0.25),
    Row("load in steps, hourly", "steps", 1.0),
    Row("switched itself off, not noted, half-hourly", "resistor", 0.5, noted=False),
    Row("switched itself off, not noted, hourly", "resistor", 1.0, noted=False),
    Row("a third of the readings missed, steps, half-hourly", "steps", 0.5, missed=0.33),
    Row("a third of the readings missed, compressor", "compressor", 0.5, missed=0.33),
    Row("one slip of factor ten, half-hourly", "resistor", 0.5, slip=True),
)


@dataclass
class Tally:
    """What became of the tests of one kind of day."""

    measured: int = 0
    held: int = 0
    low: int = 0
    bounds: int = 0
    false: int = 0
    half_widths_ah: float = 0.0
    tests: int = 0
    refused: int = 0

    def add(self, result: Result, truth_ah: float) -> None:
        self.tests += 1
        if result.kind is EvidenceKind.MEASURED:
            self.measured += 1
            self.held += abs(result.capacity_ah - truth_ah) <= result.budget.expanded_ah
            self.low += result.capacity_ah + result.budget.expanded_ah < truth_ah
            self.half_widths_ah += result.budget.expanded_ah
        elif result.kind is EvidenceKind.AT_LEAST:
            self.bounds += 1
            self.false += result.lower_ah > truth_ah

    def written(self) -> str:
        of = max(1, self.measured)
        return (
            f"{100 * self.held / of:>6.1f} {100 * self.low / of:>6.1f} "
            f"{self.half_widths_ah / of:>6.1f} {100 * self.measured / max(1, self.tests):>6.0f} "
            f"{100 * self.false / max(1, self.bounds):>6.1f} {self.refused:>4}"
        )


def slipped(chance: random.Random, readings: Readings) -> Readings:
    """One reading, neither the first nor the last, with its decimal point in another place."""
    amps = array("d", readings.current_a)
    amps[chance.randrange(1, len(amps) - 1)] *= chance.choice((10, 0.1))
    return replace(readings, current_a=amps)


def a_test(days, chance: random.Random, row: Row, kind: MeterKind) -> tuple[Result, float]:
    """One test with a known truth, as the program sees it."""
    limits = typical(kind)
    read_amps = simulation.meter(
        chance, limits.gain_limit_percent, limits.offset_limit_a, limits.resolution_a
    )
    day = days.a_day(chance, row.load, row.every_h, read_amps, row.missed)
    # The clock gains or loses within its limit, and the end is noted within a minute.
    pace = 1 + chance.uniform(-0.001, 0.001)
    seen = replace(day.readings, elapsed_s=column(t * pace for t in day.readings.elapsed_s))
    battery = BatteryDetails("b", Chemistry.LFP, 12.8, RATED_AH, day.rated_hours)
    result = analyse(
        slipped(chance, seen) if row.slip else seen,
        charge_condition=ChargeCondition.FULL_RESTED,
        end_reason=EndReason.PROTECTION,
        empty_v=battery.empty_v,
        ended_after_h=day.end_h * pace + chance.uniform(-1, 1) / 60 if row.noted else None,
        meter=limits,
        rated_ah=RATED_AH,
        battery=battery,
    )
    return result, day.truth_ah


def main(runs: int, days, only: str) -> None:
    print(f"{days.__name__}, {runs} simulated tests each; by meter: {', '.join(METERS)}")
    print("held % (of the measured; should be 93 to 97), too low %, half width Ah, measured %,")
    print("false % (of the lower bounds; should be at most 5), tests refused")
    for row in (row for row in ROWS if only in row.label):
        parts = []
        for kind in METERS:
            chance, tally = random.Random(f"{kind} {row.label}"), Tally()
            for _ in range(runs):
                try:
                    tally.add(*a_test(days, chance, row, kind))
                except InvalidInput:
                    tally.refused += 1
            parts.append(tally.written())
        print(f"{row.label:50} | " + " | ".join(parts), flush=True)


if __name__ == "__main__":
    given = sys.argv[1:]
    judging = "other" in given
    counts = [int(one) for one in given if one.isdigit()]
    words = [one for one in given if not one.isdigit() and one != "other"]
    main(counts[0] if counts else 1000, other_days if judging else ordinary_days, " ".join(words))
