"""Build the shipped reference trajectories from the published ageing records.

Usage: python -m tests.tools.build_reference FOLDER app/data/reference_trajectories.npz

FOLDER holds the CSV files `cell,cycle,capacity_ah` (one file a family). Every record that falls to
90 % of its start becomes one curve: capacity as a share of the start, at 101 evenly spaced times
between its first and its last row. Times carry no unit: a curve is only a shape, stretched later.
"""

import csv
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

POINTS = 101
LOWEST_SHARE = 0.9
MIN_RECORD = 6
SHARE_SCALE = 50_000  # stored as whole numbers of 1/50000, a resolution of 0.002 %

SOURCES = {
    "hust_lfp": "Ma G. et al. (2022), Energy & Environmental Science 15, 4083; "
    "doi 10.17632/nsc7hnsg4s; CC BY 4.0",
    "mit_lfp": "Severson K. et al. (2019), Nature Energy 4, 383; CC BY 4.0",
    "tju_nca": "Zhu J. et al. (2022), Nature Communications 13, 2261; "
    "doi 10.5281/zenodo.6405084; CC BY 4.0",
    "tju_ncm": "Zhu J. et al. (2022), Nature Communications 13, 2261; "
    "doi 10.5281/zenodo.6405084; CC BY 4.0",
    "tju_ncm_nca": "Zhu J. et al. (2022), Nature Communications 13, 2261; "
    "doi 10.5281/zenodo.6405084; CC BY 4.0",
    "nasa_18650": "Saha B., Goebel K. (2007), Battery Data Set, NASA Prognostics Data Repository, "
    "NASA Ames; US Government work",
}
TABULATED_BY = "Wang F. et al. (2024), Nature Communications 15, 4332 (all but nasa_18650)"


def read_cells(path: Path) -> dict[str, tuple[Floats, Floats]]:
    """Rows of one CSV file as {cell: (cycles, capacities in Ah)}, each in order of cycle."""
    rows: dict[str, list[tuple[float, float]]] = {}
    with path.open(newline="", encoding="utf-8") as handle:
        for row in csv.DictReader(handle):
            pair = (float(row["cycle"]), float(row["capacity_ah"]))
            rows.setdefault(row["cell"], []).append(pair)
    table = {cell: np.array(sorted(pairs)) for cell, pairs in rows.items()}
    return {cell: (pairs[:, 0], pairs[:, 1]) for cell, pairs in table.items()}


def running_median(values: Floats, half: int) -> Floats:
    """Median over `half` neighbours on either side, fewer at the ends (kills single bad rows)."""
    size = len(values)
    windows = [values[max(0, i - half) : min(size, i + half + 1)] for i in range(size)]
    return np.array([float(np.median(window)) for window in windows])


def smooth_share(capacities: Floats) -> Floats:
    """Capacity as a share of the early capacity, single odd rows removed.

    The start is the median of the first three rows; very short records get a narrower window.
    """
    smooth = running_median(capacities, 2 if len(capacities) > 20 else 1)
    return smooth / float(np.median(capacities[:3]))


def first_crossing(times: Floats, shares: Floats, level: float) -> float | None:
    """Time at which `shares` first falls below `level`, linear between rows; None if never."""
    below = np.flatnonzero(shares < level)
    if below.size == 0 or below[0] == 0:
        return None
    after = int(below[0])
    drop = shares[after - 1] - shares[after]
    part = (shares[after - 1] - level) / drop if drop > 0 else 1.0
    return float(times[after - 1] + part * (times[after] - times[after - 1]))


def curve_of(cycles: Floats, capacities: Floats) -> Floats | None:
    """Shares at POINTS evenly spaced times over the record, or None where it says too little."""
    if len(cycles) < MIN_RECORD:
        return None
    shares = smooth_share(capacities)
    if first_crossing(cycles, shares, LOWEST_SHARE) is None:
        return None
    grid = np.linspace(cycles[0], cycles[-1], POINTS)
    curve: Floats = np.interp(grid, cycles, shares)
    return curve


def build(folder: Path, output: Path) -> int:
    """Write every usable curve of every CSV in `folder` to `output`; returns their number."""
    curves, families, cells = [], [], []
    for path in sorted(folder.glob("*.csv")):
        for cell, (cycles, capacities) in read_cells(path).items():
            curve = curve_of(cycles, capacities)
            if curve is not None:
                curves.append(curve)
                families.append(path.stem)
                cells.append(cell)
    stored = np.round(np.array(curves) * SHARE_SCALE).astype(np.uint16)
    sources = [f"{family}: {SOURCES.get(family, 'see folder')}" for family in sorted(set(families))]
    np.savez_compressed(
        output,
        shares=stored,
        scale=np.array(SHARE_SCALE),
        family=np.array(families),
        cell=np.array(cells),
        sources=np.array([*sources, f"tabulated by {TABULATED_BY}"]),
    )
    return len(curves)


if __name__ == "__main__":
    if len(sys.argv) != 3:
        raise SystemExit(__doc__)
    target = Path(sys.argv[2])
    print(build(Path(sys.argv[1]), target), "curves written to", target)
