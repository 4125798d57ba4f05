"""How often the interval of a difference of fade rates holds the truth, and how often it errs.

Run by hand: python -m tests.benchmarks.bench_comparison [runs]
Two batteries with quarterly tests, one at 25 °C and one under a hot schedule, which lose what the
published calendar model gives (app/analysis/loss_models): with √t and with the seasons. The true
difference is then that of the straight lines through the true capacities on the days of the tests.
"New" is first tested after a quarter in service, "aged" after two years. "Straight" loses at an
even rate, 1.5 % a year times the ageing factor of the schedule. Two that are identical follow,
where a "proven" difference is an error, and one that moves from the cool place into the hot one.
Scatter as stated, or with as much again that nobody stated; one meter for both, or one each.
"""

import math
import sys
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from app.analysis.ageing.exposure import Exposure, ageing_factor
from app.analysis.comparison.comparison import around_move, difference, rate_of
from app.analysis.comparison.comparison_power import Record, further_to_show
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind
from app.domain.units.time_units import DAYS_PER_YEAR, HOURS_PER_YEAR
from tests.benchmarks.published_formula import calendar_loss_percent

Floats = NDArray[np.float64]
Truth = Callable[[int, int], Floats]
COUNTS = (4, 6, 8, 12, 20)
STATED, STRAIGHT_RATE, LIMIT, CHARGE = 0.6, 1.5, 0.01, 0.75
QUARTER_H = HOURS_PER_YEAR / 4
# A locker in a hot place, season by season in °C, and a place at 25 °C.
HOT, COOL = (25.0, 35.0, 45.0, 25.0), (25.0, 25.0, 25.0, 25.0)


def lived(places: list[float]) -> Exposure:
    """One place a quarter, in °C."""
    return Exposure.of([(celsius, QUARTER_H) for celsius in places])


def by_model(seasons: tuple[float, ...], moves: bool = False) -> Truth:
    """True capacities (% of new) of quarterly tests, the first after so many quarters.

    A battery that moves spends its first half at 25 °C.
    """

    def capacities(count: int, first: int) -> Floats:
        half = first + count // 2
        places = [
            25.0 if moves and quarter < half else seasons[quarter % 4]
            for quarter in range(first + count)
        ]
        ends = range(first, first + count)
        return np.array([100 - calendar_loss_percent(lived(places[:end]), CHARGE) for end in ends])

    return capacities


def straight(rate: float) -> Truth:
    """True capacities that fall by `rate` % a year."""
    return lambda count, _first: 100 - rate * np.arange(count) / 4


def slope(capacities: Floats) -> float:
    """% a year of the straight line closest to them."""
    return -4 * float(np.polyfit(np.arange(len(capacities)), capacities, 1)[0])


def bend(capacities: Floats) -> float:
    """Change of the rate at the middle test, of the bent line closest to them."""
    quarters = np.arange(len(capacities)) - len(capacities) // 2
    design = np.column_stack([np.ones(len(quarters)), quarters, np.maximum(0, quarters)])
    return -4 * float(np.linalg.lstsq(design, capacities, rcond=None)[0][2])


def record(
    rng: np.random.Generator, capacities: Floats, extra: float, meter: int, gain: float
) -> list[TrendPoint]:
    made = []
    for i, truth in enumerate(capacities):
        value = (truth + rng.normal(0, math.hypot(STATED, extra))) * gain
        standard = math.hypot(STATED, LIMIT / math.sqrt(3) * value)
        day = 738_000.0 + DAYS_PER_YEAR / 4 * i
        made.append(
            TrendPoint(day, float(value), standard, STATED, EvidenceKind.MEASURED, i, meter)
        )
    return made


def trial(
    rng: np.random.Generator, pair: tuple[Floats, Floats], unstated: bool, one_meter: bool
) -> tuple[bool, bool]:
    """Whether the interval held the true difference, and whether it was called proven."""
    extra = STATED if unstated else 0.0
    gains = 1 + rng.uniform(-LIMIT, LIMIT, 2)
    if one_meter:
        gains[1] = gains[0]
    found = []
    for number, (truth, gain) in enumerate(zip(pair, gains, strict=True)):
        points = record(rng, truth, extra, 1 if one_meter else 1 + number, gain)
        found.append(rate_of("", points, 100.0))
    gap = difference(found[0], found[1])
    return gap.low <= slope(pair[0]) - slope(pair[1]) <= gap.high, gap.proven


def moved(rng: np.random.Generator, truth: Floats) -> bool:
    """Whether the interval around a move in the middle of a record held the truth."""
    points = record(rng, truth, 0.0, 1, 1.0)
    gap = around_move(points, points[len(truth) // 2].day, 100.0)
    return gap is not None and gap.low <= bend(truth) <= gap.high


def row(name: str, shares: list[float]) -> None:
    blank = "" if len(shares) == len(COUNTS) else f"{'':11}"
    print(f"{name:44}{blank}" + "".join(f"{100 * share:9.1f} %" for share in shares), flush=True)


def main(runs: int) -> None:
    factor = ageing_factor(lived(list(HOT))).middle
    hot, cool, even = by_model(HOT), by_model(COOL), straight(STRAIGHT_RATE)
    cases: dict[str, tuple[Truth, Truth, int, tuple[str, ...]]] = {
        "hot and cool, new": (hot, cool, 1, ("as stated", "unstated")),
        "hot and cool, aged": (hot, cool, 8, ("as stated", "unstated")),
        "hot and cool, straight": (straight(STRAIGHT_RATE * factor), even, 1, ("a meter each",)),
        "identical, called different": (cool, cool, 8, ("as stated",)),
    }
    print(f"{runs} pairs each; rates of the hot and the cool one, % a year, by the number of tests")
    print(f"{'':44}" + "".join(f"{count:>5} tests" for count in COUNTS))
    for name, (one, other, first, settings) in cases.items():
        rates = [(slope(one(n, first)), slope(other(n, first))) for n in COUNTS]
        print(f"{name:44}" + "".join(f"{f'{a:.2f} {b:.2f}':>11}" for a, b in rates))
        for setting in settings:
            shares = []
            for count in COUNTS:
                rng = np.random.default_rng(count)
                pair = (one(count, first), other(count, first))
                how = (setting == "unstated", setting != "a meter each")
                seen = [trial(rng, pair, *how) for _ in range(runs)]
                erring = "identical" in name
                shares.append(sum(err if erring else held for held, err in seen) / runs)
            row("  " + setting, shares)
    for name, truth in (
        ("around a move, new", lambda n: by_model(HOT, moves=True)(n, 1)),
        ("around a move, aged", lambda n: by_model(HOT, moves=True)(n, 8)),
    ):
        made = {n: truth(n) for n in COUNTS[1:]}
        held = [
            sum(moved(rng, made[n]) for _ in range(runs)) / runs
            for n, rng in ((n, np.random.default_rng(n)) for n in COUNTS[1:])
        ]
        row(f"{name}, held", held)
    rng = np.random.default_rng(1)
    ahead = [
        found
        for truth in (hot, cool)
        if (found := Record.of(record(rng, truth(6, 8), 0.0, 1, 1.0), 100.0, 91.0)) is not None
    ]
    for shown in (2.0, 1.0, 0.5):
        more = further_to_show(ahead, shown)
        print(
            f"after 6 tests, {shown} points a year show after {more} more quarterly tests of each"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
