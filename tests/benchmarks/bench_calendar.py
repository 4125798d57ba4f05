"""Score end-of-life projections on batteries that time alone wears.

Run by hand: python -m tests.benchmarks.bench_calendar [batteries]
Invented after published shapes: loss a t^b with b from 0.5 to 0.7 (Naumann and others 2018, Lam and
others 2024), 80 % after 7 to 25 years (both evenly likely, the years in their logarithm). Quarterly
tests with 1 % scatter, as stated; asked after 1 to 4 years for 80 and for 90 % of the first test.
"""

import sys

import numpy as np

from app.analysis.projection.end_of_life import reference_library
from app.analysis.projection.projection import HORIZON_DAYS, ProjectionRequest, project
from app.domain.units.time_units import DAYS_PER_YEAR
from tests.benchmarks.bench_cases import seeded

AFTER_YEARS = (1, 2, 3, 4)
SHARES = (0.8, 0.9)
SCATTER = 1.0


def held(number: int, after_years: int, share: float) -> tuple[bool, bool]:
    """Whether the 90 % interval holds the true end, and whether it lies behind it."""
    chance = seeded("calendar", number, after_years)
    life = np.exp(chance.uniform(np.log(7.0), np.log(25.0)))
    power = chance.uniform(0.5, 0.7)
    years = np.arange(0.0, after_years + 0.01, 0.25)
    scatter = chance.normal(0.0, SCATTER, len(years))
    capacities = 100.0 * (1.0 - 0.2 * (years / life) ** power) + scatter
    answer = project(
        years * DAYS_PER_YEAR,
        capacities,
        np.full(len(years), SCATTER),
        library=reference_library(),
        question=ProjectionRequest(share=share, fan_points=0, levels=(0.05, 0.95)),
    )
    truth = DAYS_PER_YEAR * life * ((1.0 - share) / 0.2) ** (1.0 / power)
    low, high = (HORIZON_DAYS if day is None else day for _, day in answer.quantiles)
    truth = min(truth, HORIZON_DAYS)
    return low <= truth <= high, low > truth


def main(batteries: int) -> None:
    print(f"{batteries} batteries each: 90 % interval held the end, told too long")
    print(f"{'asked for':12}" + "".join(f"{years:>10} y      " for years in AFTER_YEARS))
    for share in SHARES:
        cells = []
        for years in AFTER_YEARS:
            rows = np.array([held(number, years, share) for number in range(batteries)])
            good, late = 100 * rows.mean(axis=0)
            cells.append(f"{good:6.1f} % {late:4.1f} %")
        print(f"{100 * share:9.0f} %  " + "  ".join(cells))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
