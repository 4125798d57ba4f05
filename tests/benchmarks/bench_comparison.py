"""How often the interval of a difference of fade rates holds the truth, and how often it errs.

Run by hand: python -m tests.benchmarks.bench_comparison [runs]
Two batteries with quarterly tests, one at 25 °C (1.5 % a year), one under a hot schedule that ages
it by the factor of its hours; and two that are identical, where a "proven" difference is an error.
Scatter as stated, and with as much again that nobody stated; one meter for both, or one each.
"""

import math
import sys

import numpy as np

from app.analysis.comparison import around_move, difference, further_to_show, rate_of
from app.analysis.exposure import Exposure, ageing_factor
from app.analysis.trend_point import DAYS_PER_YEAR, TrendPoint
from app.domain.finding import Kind

COUNTS = (4, 6, 8, 12, 20)
STATED, COOL_RATE, LIMIT = 0.6, 1.5, 0.01
# A locker in a hot place: half the year at 25, a quarter at 35, a quarter at 45 °C.
HOT = Exposure.of([(25.0, 4383.0), (35.0, 2191.5), (45.0, 2191.5)])


def record(
    rng: np.random.Generator, count: int, rate: float, extra: float, meter: int, gain: float
) -> list[TrendPoint]:
    made = []
    for i in range(count):
        truth = 100 - rate * i / 4
        value = (truth + rng.normal(0, math.hypot(STATED, extra))) * gain
        standard = math.hypot(STATED, LIMIT / math.sqrt(3) * value)
        day = 738_000.0 + DAYS_PER_YEAR / 4 * i
        made.append(TrendPoint(day, value, standard, STATED, Kind.MEASURED, i, meter))
    return made


def trial(
    rng: np.random.Generator, count: int, rates: tuple[float, float], setting: str
) -> tuple[bool, bool]:
    """Whether the interval held the true difference, and whether it was called proven."""
    extra = STATED if "unstated" in setting else 0.0
    gains = 1 + rng.uniform(-LIMIT, LIMIT, 2)
    if "one meter" in setting:
        gains[1] = gains[0]
    found = []
    for number, (rate, gain) in enumerate(zip(rates, gains, strict=True)):
        points = record(rng, count, rate, extra, 1 if "one" in setting else 1 + number, gain)
        found.append(rate_of("", points, 100.0))
    gap = difference(found[0], found[1])
    return gap.low <= rates[0] - rates[1] <= gap.high, gap.proven


def moved(rng: np.random.Generator, count: int, rates: tuple[float, float]) -> bool:
    """Whether the interval around a move in the middle of a record held the truth."""
    points, level = [], 100.0
    for i in range(count):
        if i:
            level -= (rates[1] if i <= count // 2 else rates[0]) / 4
        value = level + rng.normal(0, STATED)
        day = 738_000.0 + DAYS_PER_YEAR / 4 * i
        points.append(TrendPoint(day, value, STATED, STATED, Kind.MEASURED, i, 1))
    gap = around_move(points, points[count // 2].day, 100.0)
    return gap is not None and gap.low <= rates[0] - rates[1] <= gap.high


def main(runs: int) -> None:
    hot = COOL_RATE * ageing_factor(HOT).middle
    print(f"{runs} pairs each; the hot one fades {hot:.2f} % a year, the cool one {COOL_RATE} %")
    print(f"{'':28}" + "".join(f"{count:>5} tests" for count in COUNTS))
    for setting in ("as stated, one meter", "as stated, a meter each", "unstated, one meter"):
        held, erred = [], []
        for count in COUNTS:
            rng = np.random.default_rng(count)
            seen = [trial(rng, count, (hot, COOL_RATE), setting) for _ in range(runs)]
            held.append(100 * sum(one for one, _ in seen) / runs)
            alike = [trial(rng, count, (COOL_RATE, COOL_RATE), setting) for _ in range(runs)]
            erred.append(100 * sum(two for _, two in alike) / runs)
        print(f"{setting + ', held':28}" + "".join(f"{share:9.1f} %" for share in held))
        print(
            f"{'  identical called different':28}" + "".join(f"{share:9.1f} %" for share in erred)
        )
    held = []
    for count in COUNTS[1:]:
        rng = np.random.default_rng(count)
        held.append(100 * sum(moved(rng, count, (hot, COOL_RATE)) for _ in range(runs)) / runs)
    print(f"{'around a move, held':28}{'':11}" + "".join(f"{share:9.1f} %" for share in held))
    rng = np.random.default_rng(1)
    points = [record(rng, 6, rate, 0.0, 1, 1.0) for rate in (hot, COOL_RATE)]
    for shown in (2.0, 1.0, 0.5):
        more = further_to_show(points, (100.0, 100.0), 91.0, shown)
        print(
            f"a difference of {shown} points a year shows after {more} more quarterly tests of each"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
