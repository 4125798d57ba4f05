"""Records that the benchmark scores: published cells, seen the way an owner would see them."""

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.analysis.projection.projection import HORIZON_DAYS
from app.domain.units.time_units import DAYS_PER_YEAR
from tests.tools.build_reference import first_crossing, read_cells, smooth_share

Floats = NDArray[np.float64]

PROTOCOLS: dict[str, tuple[int, ...]] = {
    "regular": (6, 12, 16, 20),
    "sparse": (4, 6, 8),
    "irregular": (6, 12, 16, 20),
    "outlier": (6, 12, 16, 20),
}
MIN_RECORD = 6
SCATTER = 1.0
OUTLIER = 0.88


@dataclass(frozen=True)
class Cell:
    """A full record: times in lives to `share`, shares of the start as measured."""

    family: str
    name: str
    times: Floats
    shares: Floats
    share: float
    cycles: float


@dataclass(frozen=True)
class Case:
    """What one projection is given (days, capacities, errors) and the true day."""

    protocol: str
    stage: int
    cell: Cell
    days: Floats
    capacities: Floats
    errors: Floats
    truth: float


def seeded(*names: object) -> np.random.Generator:
    return np.random.default_rng(zlib.crc32("|".join(map(str, names)).encode()))


def load_cells(folder: Path) -> list[Cell]:
    cells = []
    for path in sorted(folder.glob("*.csv")):
        for name, (cycles, capacities) in read_cells(path).items():
            if len(cycles) < MIN_RECORD:
                continue
            smooth = smooth_share(capacities)
            for share in (0.8, 0.9):
                end = first_crossing(cycles, smooth, share)
                if end is not None:
                    life = end - float(cycles[0])
                    times = (cycles - cycles[0]) / life
                    shares = capacities / float(np.median(capacities[:3]))
                    cells.append(Cell(path.stem, name, times, shares, share, life))
                    break
    return cells


def life_days(cell: Cell, lives: str) -> float:
    rng = seeded("life", cell.family, cell.name)
    if lives == "log":
        return DAYS_PER_YEAR * float(np.exp(rng.uniform(np.log(2.0), np.log(25.0))))
    if lives == "uniform":
        return DAYS_PER_YEAR * float(rng.uniform(2.0, 25.0))
    if lives == "cycles":
        return float(np.clip(3.0 * cell.cycles, 2.0 * DAYS_PER_YEAR, HORIZON_DAYS))
    raise ValueError(f"lives must be log, uniform or cycles, not {lives}")


def make_case(cell: Cell, protocol: str, stage: int, lives: str, draw: int) -> Case:
    names = (protocol, stage, cell.family, cell.name)
    rng = seeded(*names) if draw == 0 else seeded(*names, draw)
    life = life_days(cell, lives)
    if protocol == "irregular":
        times = np.concatenate([[0.0], np.sort(rng.uniform(0.0, stage / 24, stage - 1))])
    else:
        times = np.arange(stage) / (10 if protocol == "sparse" else 24)
    capacities = 100.0 * np.interp(times, cell.times, cell.shares)
    capacities = capacities + rng.normal(0.0, SCATTER, stage)
    if protocol == "outlier":
        capacities[int(rng.integers(0, min(6, stage)))] *= OUTLIER
    return Case(protocol, stage, cell, times * life, capacities, np.full(stage, SCATTER), life)


def all_cases(cells: Iterable[Cell], lives: str, draws: int) -> list[Case]:
    return [
        make_case(cell, protocol, stage, lives, draw)
        for cell in cells
        for protocol, stages in PROTOCOLS.items()
        for stage in stages
        for draw in range(draws)
    ]
