"""False alarms of the watch on quiet records, how soon it finds a doubled rate, and how often the
interval of a rate after a bend holds the truth at the first alarm.

Run by hand: python -m tests.benchmarks.bench_watch [runs]
Quiet: quarterly tests of a battery that fades at a steady rate (1 to 3 % a year) or as the root
of time, with the scatter that is stated (0.5 to 1 %). Doubled: 2.5 to 4 % a year until the tenth
test, twice that after it. Each once with the scatter that is stated and once with 1 % more that
nobody stated.
"""

import math
import random
import sys

from app.analysis.battery.newest_test_check import Alarm, watch
from app.analysis.fade.change_point import MAX_AFTER
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind
from app.domain.units.time_units import DAYS_PER_YEAR

QUARTER_DAYS = 91.0
CHANGE_AFTER = 10
UNSTATED = 1.0


def record(
    chance: random.Random, count: int, loss, scatter: float, more: float
) -> list[TrendPoint]:
    return [
        TrendPoint(
            738_000.0 + QUARTER_DAYS * i,
            100 - loss(i / 4) + chance.gauss(0, math.hypot(scatter, more)),
            scatter,
            scatter,
            EvidenceKind.MEASURED,
        )
        for i in range(count)
    ]


def false_alarms(runs: int, more: float) -> float:
    chance, raised, judged = random.Random(1), 0, 0
    for run in range(runs):
        rate, scatter = chance.uniform(1, 3), chance.uniform(0.5, 1.0)
        power = 0.5 if run % 2 else 1.0
        points = record(chance, 20, lambda t, r=rate, p=power: r * t**p, scatter, more)
        for count in range(5, len(points) + 1):
            judged += 1
            raised += watch(points[:count], {}).alarm in (Alarm.LOW_TEST, Alarm.FASTER)
    return raised / judged


def found_within_four(runs: int, more: float) -> list[float]:
    chance = random.Random(2)
    found = [0, 0, 0, 0]
    for _ in range(runs):
        rate, scatter = chance.uniform(2.5, 4), chance.uniform(0.5, 1.0)
        begun = (CHANGE_AFTER - 1) / 4

        def loss(t, r=rate, b=begun):
            return r * t + r * max(0.0, t - b)

        points = record(chance, CHANGE_AFTER + 4, loss, scatter, more)
        for later in range(4):
            alarm = watch(points[: CHANGE_AFTER + 1 + later], {}).alarm
            if alarm in (Alarm.LOW_TEST, Alarm.FASTER):
                for i in range(later, 4):
                    found[i] += 1
                break
    return [count / runs for count in found]


def late_rate_held(runs: int, more: float, times: float) -> float:
    """At the first alarm; the truth is the mean loss over the tests behind the bend that it found.

    That may lie a test or two beside the true one; the number of tests behind it is in its words.
    """
    chance, alarms, held = random.Random(3), 0, 0
    begun = (CHANGE_AFTER - 1) / 4
    for _ in range(runs):
        rate, scatter = chance.uniform(2.5, 4), chance.uniform(0.5, 1.0)

        def loss(t, r=rate):
            return r * t + (times - 1) * r * max(0.0, t - begun)

        points = record(chance, CHANGE_AFTER + MAX_AFTER, loss, scatter, more)
        for count in range(CHANGE_AFTER + 3, len(points) + 1):
            found = watch(points[:count], {})
            if found.late is None:
                continue
            behind = found.rates.values["count"]
            lost = loss((count - 1) / 4) - loss((count - 1 - behind) / 4)
            truth = lost / (behind * QUARTER_DAYS) * DAYS_PER_YEAR
            alarms, held = alarms + 1, held + (found.late.low <= truth <= found.late.high)
            break
    return held / alarms


def main(runs: int) -> None:
    for name, more in (("scatter as stated", 0.0), ("1 % of scatter nobody stated", UNSTATED)):
        share = false_alarms(max(1, runs // 8), more)
        print(f"{name}: false alarms on quiet quarterly tests: {100 * share:.1f} % of tests")
        shares = found_within_four(runs, more)
        print("  a doubled rate is found after 1, 2, 3, 4 tests in", end=" ")
        print(", ".join(f"{100 * share:.0f} %" for share in shares), "of cases")
        for times in (1.5, 2.0):
            share = late_rate_held(runs, more, times)
            print(f"  a rate {times} times as high: its interval held it in {100 * share:.0f} %")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
