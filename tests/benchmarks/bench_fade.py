"""How often the 95 % interval of the fade rate holds the truth, by number of tests.

Run by hand: python -m tests.benchmarks.bench_fade [runs]
Quarterly tests, 2 % a year, 0.6 Ah of stated scatter; with 1 Ah of scatter that nobody stated; with
two meters whose gains lie within 3 %; with every third test stopped early at a lower bound; and
with two such meters and such bounds.
"""

import math
import sys

import numpy as np

from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind

COUNTS = (2, 3, 4, 6, 10, 20)
STATED, RATE = 0.6, 2.0


def record(rng: np.random.Generator, count: int, setting: str) -> list[TrendPoint]:
    extra = 1.0 if setting == "unstated scatter" else 0.0
    limit = 0.03 if "two meters" in setting else 0.01
    gains = 1 + rng.uniform(-limit, limit, 2)
    made = []
    for i in range(count):
        meter = 1 + ("two meters" in setting and i >= count / 2)
        truth = 100 - RATE * i / 4
        value = (truth + rng.normal(0, math.hypot(STATED, extra))) * gains[meter - 1]
        kind = EvidenceKind.MEASURED
        if "bounds" in setting and i % 3 == 1:
            kind, value = EvidenceKind.AT_LEAST, value * rng.uniform(0.8, 1.0)
        standard = math.hypot(STATED, limit / math.sqrt(3) * value)
        made.append(TrendPoint(738_000.0 + 91.3125 * i, value, standard, STATED, kind, i, meter))
    return made


def main(runs: int) -> None:
    print(f"{runs} records each: share covered, and the median width in points")
    print(f"{'':18}" + "".join(f"{count:>6} tests  " for count in COUNTS))
    for setting in (
        "as stated",
        "unstated scatter",
        "two meters",
        "lower bounds",
        "two meters, bounds",
    ):
        cells = []
        for count in COUNTS:
            rng = np.random.default_rng(count)
            held, widths = 0, []
            for _ in range(runs):
                fade = fit_fade(record(rng, count, setting), 100)
                if fade.low is None or fade.high is None:
                    continue
                held += fade.low <= RATE <= fade.high
                widths.append(fade.high - fade.low)
            share = 100 * held / max(len(widths), 1)
            cells.append(f"{share:5.1f} % {np.median(widths):4.1f}" if widths else "      –    ")
        print(f"{setting:18}" + "  ".join(cells))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
