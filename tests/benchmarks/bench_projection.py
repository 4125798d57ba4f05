"""Score end-of-life projections on published cells, each held out of its own library.

Usage: python -m tests.benchmarks.bench_projection --data FOLDER [--lives log] [--fast]

Two ways of holding out: the cell (its family stays in the library) and its whole family. Beside
them, in the same run and on the same records: a weighted straight line with a Fieller interval, and
a fitted power law. Every random draw is seeded by the names of protocol, stage and cell.

Truth: the first crossing of the threshold by the running median of the full record. Threshold:
80 % of the start, or 90 % where a record stops earlier. Records are scaled to 100 Ah, lives to
calendar years; 1 Ah of scatter is added to each test on top of the record's own, and 1 Ah given.
"""

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.analysis.projection.projection import HORIZON_DAYS, Parameters, ProjectionRequest, project
from app.analysis.projection.trajectories import Library, load_library
from tests.benchmarks.bench_baselines import Triple, power_law, straight_line
from tests.benchmarks.bench_cases import Case, all_cases, load_cells

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Score:
    """Of a group of projections; errors, widths and interval scores in true lives."""

    number: int
    error: float
    covered: float
    too_long: float
    width: float
    interval_score: float


class Reference:
    """The projection, with the case's cell or family held out of the library."""

    def __init__(self, library: Library, hold_out: str, model: Parameters | None = None) -> None:
        self._library, self._hold_out, self._model = library, hold_out, model
        self._reduced: dict[tuple[str, str | None], Library] = {}

    def __call__(self, case: Case) -> Triple:
        family = case.cell.family
        cell = case.cell.name if self._hold_out == "cell" else None
        key = (family, cell)
        if key not in self._reduced:
            self._reduced = {key: self._library.without(family=family, cell=cell)}
        answer = project(
            case.days,
            case.capacities,
            case.errors,
            library=self._reduced[key],
            question=ProjectionRequest(
                share=case.cell.share, fan_points=0, levels=(0.05, 0.5, 0.95)
            ),
            model=self._model,
        )
        low, middle, high = (HORIZON_DAYS if day is None else day for _, day in answer.quantiles)
        return low, middle, high


def score(cases: list[Case], answers: Floats) -> Score:
    """answers: (n, 3) days at 5, 50 and 95 %."""
    truths = np.array([case.truth for case in cases])
    low, middle, high = (answers / truths[:, None]).T
    miss = np.maximum(low - 1.0, 0.0) + np.maximum(1.0 - high, 0.0)
    return Score(
        len(cases),
        float(np.median(np.abs(middle - 1.0))),
        float(np.mean((low <= 1.0) & (high >= 1.0))),
        float(np.mean(low > 1.0)),
        float(np.median(high - low)),
        float(np.mean(high - low + 20.0 * miss)),
    )


def print_table(
    title: str, cases: list[Case], answers: Floats, key: Callable[[Case], str], bars: bool = False
) -> None:
    groups: dict[str, list[int]] = {}
    for index, case in enumerate(cases):
        groups.setdefault(key(case), []).append(index)
    print(f"\n{title}")
    print(f"{'':34s}    n  error  covered  too long  width  score")
    for name, rows in groups.items():
        it = score([cases[row] for row in rows], answers[rows])
        missed = bars and (it.covered < 0.8 or it.too_long > 0.15)
        print(
            f"{name:34s}{it.number:5d} {it.error:6.2f} {it.covered:8.3f} {it.too_long:9.3f} "
            f"{it.width:6.2f} {it.interval_score:6.2f}{'   bar missed' if missed else ''}"
        )


def report(cases: list[Case], found: dict[str, Floats]) -> None:
    for name, answers in found.items():
        print_table(f"{name}: by protocol", cases, answers, lambda case: case.protocol)
    for name, answers in found.items():
        print_table(
            f"{name}: by protocol and stage",
            cases,
            answers,
            lambda case: f"{case.protocol} {case.stage:2d}",
        )
    order = sorted(range(len(cases)), key=lambda i: (cases[i].protocol, cases[i].cell.family))
    arranged = [cases[i] for i in order]
    for name, answers in found.items():
        print_table(
            f"{name}: by protocol, family and stage",
            arranged,
            answers[order],
            lambda case: f"{case.protocol:10s}{case.cell.family:12s}{case.stage:3d}",
            bars=True,
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--library", type=Path, default=Path("app/data/reference_trajectories.npz"))
    parser.add_argument("--lives", default="log", choices=("log", "uniform", "cycles"))
    parser.add_argument("--fast", action="store_true", help="every fourth cell, one draw")
    parser.add_argument("--draws", type=int, default=2)
    chosen = parser.parse_args()
    cells = load_cells(chosen.data)[:: 4 if chosen.fast else 1]
    cases = all_cases(cells, chosen.lives, 1 if chosen.fast else chosen.draws)
    library = load_library(chosen.library)
    methods: dict[str, Callable[[Case], Triple]] = {
        "reference, cell held out": Reference(library, "cell"),
        "reference, family held out": Reference(library, "family"),
        "straight line, Fieller": straight_line,
        "power law": power_law,
    }
    print(f"{len(cells)} cells, {len(cases)} projections a method, lives: {chosen.lives}")
    found = {}
    for name, method in methods.items():
        began = time.perf_counter()
        found[name] = np.array([method(case) for case in cases])
        each = 1000.0 * (time.perf_counter() - began) / len(cases)
        print(f"{name}: {each:.1f} ms a projection")
    report(cases, found)


if __name__ == "__main__":
    main()
