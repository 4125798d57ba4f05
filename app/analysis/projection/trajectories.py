"""Reference trajectories: the shapes that a capacity can take on its way down.

A trajectory is capacity as a share of its start against x, time in units of the life to 80 %.
Two kinds stand side by side: published cells (the shipped data names its sources) and smooth
families, which keep the library honest about shapes that no published cell happens to show.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.analysis.statistics.arrays import Floats

REFERENCE_SHARE = 0.8
MAX_TIME_LIVES = 2.5  # lives; beyond it log share falls steadily
FALL_BEYOND = 0.3  # of log share a life
TIME_STEP = 0.0025
LOW_SHARE = 0.1  # below it shares fade out ever slower, to stay above zero
SHARE_STEP = 0.0025
NEVER = 1e3  # lives; large and finite, so that it can be interpolated and lies beyond any horizon
TAIL = 0.12  # the last part of a record, whose slope continues it
SMALLEST_TAIL_SLOPE = 0.05  # share per record length: a record that ends flat still ends
SMOOTH_WEIGHT = 0.5  # prior weight of the smooth families together
# Calendar ageing slows: the published exponents for lithium iron phosphate run from 0.54 to 0.75
# (Lam V. et al. (2024), "A decade of insights", Joule), a square root in older models.
SLOWING_POWERS = (0.4, 0.5, 0.6, 0.7, 0.8)
QUICKENING_POWERS = (1.0, 1.2, 1.5, 2.0, 3.0, 4.0, 6.0)
# Whose fade slows down: time wears them rather than use. The published cells were all cycled.
SLOWING_FAMILIES = ("smooth_slowing", "smooth_settling")
FAMILY_POWER = 0.25  # a family of n cells weighs n ** 0.25: many calm ones cannot outvote few

_GRID: Floats = np.arange(0.0, MAX_TIME_LIVES + TIME_STEP / 2, TIME_STEP)
_SHARES: Floats = np.arange(0.3, 0.995 + SHARE_STEP / 2, SHARE_STEP)


@dataclass(frozen=True)
class Library:
    """Trajectories on one grid of x.

    log_share: (J, K) natural log of capacity over start capacity, at x = 0, TIME_STEP, ...
    crossing: (J, S) first x at which the share is below each of `shares`, NEVER if it is not.
    shares: (S,) rising.
    prior: (J,) prior weights, sum 1.
    family, cell: (J,) names; smooth curves have a family that begins with "smooth".
    """

    log_share: NDArray[np.float32]
    crossing: Floats
    shares: Floats
    prior: Floats
    family: tuple[str, ...]
    cell: tuple[str, ...]

    @cached_property
    def slows(self) -> NDArray[np.bool_]:
        """Which trajectories (J,) belong to cells that time wears rather than use."""
        return np.isin(self.family, SLOWING_FAMILIES)

    def crossing_at(self, share: Floats) -> Floats:
        """x at which each trajectory falls below `share` of its start.

        share: scalar, or (J, A); shares outside 0.3 to 0.995 count as the nearer end.
        Returns (J, 1) or (J, A), in lives to 80 %.
        """
        table = self.crossing
        place = (np.asarray(share) - self.shares[0]) / SHARE_STEP
        place = np.clip(place, 0.0, len(self.shares) - 1.000001)
        low = np.floor(place).astype(np.intp)
        part = place - low
        if low.ndim == 0:
            low, part = low.reshape(1, 1), np.asarray(part).reshape(1, 1)
        rows = np.arange(len(table))[:, None]
        crossed: Floats = table[rows, low] * (1.0 - part) + table[rows, low + 1] * part
        return crossed

    def without(self, *, family: str | None = None, cell: str | None = None) -> "Library":
        """The library less one family, or less one cell of it (for held-out scoring)."""
        keep = np.array(
            [
                not (
                    (cell is None and name == family)
                    or (cell is not None and name == family and own == cell)
                )
                for name, own in zip(self.family, self.cell, strict=True)
            ]
        )
        families = tuple(np.array(self.family)[keep].tolist())
        return replace(
            self,
            log_share=self.log_share[keep],
            crossing=self.crossing[keep],
            prior=hierarchical_weights(families),
            family=families,
            cell=tuple(np.array(self.cell)[keep].tolist()),
        )


def hierarchical_weights(families: Iterable[str]) -> Floats:
    """Prior weights (J,): first over smooth and published, then families, then cells alike."""
    names = np.array(list(families))
    weights = np.zeros(len(names))
    smooth = np.array([name.startswith("smooth") for name in names])
    for kind, total in ((smooth, SMOOTH_WEIGHT), (~smooth, 1.0 - SMOOTH_WEIGHT)):
        found, counts = np.unique(names[kind], return_counts=True)
        shares = counts**FAMILY_POWER / np.sum(counts**FAMILY_POWER)
        for name, count, share in zip(found, counts, shares, strict=True):
            weights[names == name] = total * share / count
    normalised: Floats = weights / weights.sum()
    return normalised


def continued(times: Floats, shares: Floats) -> Floats:
    """A record's shares (P,) carried on in time along the slope of its end, on the grid of x.

    `times` may be in any unit; the result is in lives to 80 %, taken from the curve itself.
    """
    tail = times >= times[-1] - TAIL * (times[-1] - times[0])
    slope = float(np.polyfit(times[tail], shares[tail], 1)[0])
    slope = min(slope, -SMALLEST_TAIL_SLOPE / (times[-1] - times[0]))
    far = times[-1] * np.linspace(1.0, 60.0, 6000)[1:]
    all_times = np.concatenate([times, far])
    all_shares = np.concatenate([shares, shares[-1] + slope * (far - times[-1])])
    life = all_times[np.flatnonzero(all_shares < REFERENCE_SHARE)[0]]
    curve: Floats = np.interp(_GRID * life, all_times, all_shares)
    return curve


def grid_place(lives: Floats) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Nearest grid index of each x, and how far the log share falls further where x is beyond.

    Without that fall a record of many equal tests would fit any battery that died long ago.
    """
    place = np.rint(np.minimum(lives / TIME_STEP, len(_GRID) - 1)).astype(np.intp)
    beyond = np.maximum(lives - MAX_TIME_LIVES, 0.0) * FALL_BEYOND
    return place, np.minimum(beyond, 1e6).astype(np.float32)


def power_curves(powers: tuple[float, ...]) -> tuple[list[str], Floats]:
    """1 - 0.2 x**p for each p: below 1 fade slows with time, above 1 it gathers speed."""
    curves = [1.0 - 0.2 * _GRID**power for power in powers]
    return [f"power {power}" for power in powers], np.array(curves)


def knee_curves() -> tuple[list[str], Floats]:
    """Slow fade of a given depth, then a knee at a given place, steeper and steeper to 80 %."""
    names, curves = [], []
    for depth in (0.01, 0.03, 0.06, 0.10):
        for start in (0.2, 0.4, 0.6, 0.75, 0.88):
            for bend in (1.0, 2.0, 3.0):
                after = np.maximum(0.0, _GRID - start) / (1.0 - start)
                calm = depth * _GRID ** (1.0 if bend == 1.0 else 0.75)
                curves.append(1.0 - calm - (0.2 - depth) * after**bend)
                names.append(f"knee depth {depth} at {start} bend {bend}")
    return names, np.array(curves)


def settling_curves() -> tuple[list[str], Floats]:
    """Fade that settles towards an end, as exponential decay does."""
    names, curves = [], []
    for pace in (1.0, 2.0, 3.0):
        curves.append(1.0 - 0.2 * np.expm1(-pace * _GRID) / np.expm1(-pace))
        names.append(f"settling {pace}")
    return names, np.array(curves)


def sigmoid_curves() -> tuple[list[str], Floats]:
    """Slow, then fast, then slow again, after the logistic function."""
    names, curves = [], []
    for centre in (0.5, 0.75, 0.95):
        for width in (0.08, 0.16):
            shape = 1.0 / (1.0 + np.exp(-(_GRID - centre) / width))
            at_end = 1.0 / (1.0 + np.exp(-(1.0 - centre) / width))
            # A slow loss beside it: no battery stands still.
            curve = 1.0 - 0.05 * _GRID - 0.15 * (shape - shape[0]) / (at_end - shape[0])
            curves.append(curve)
            names.append(f"sigmoid at {centre} width {width}")
    return names, np.array(curves)


def cliff_curves() -> tuple[list[str], Floats]:
    """The root of time, then a cliff shortly before the end."""
    names, curves = [], []
    for depth in (0.06, 0.10, 0.14):
        for start in (0.85, 0.92, 0.97):
            after = np.maximum(0.0, _GRID - start) / (1.0 - start)
            curves.append(1.0 - depth * np.sqrt(_GRID) - (0.2 - depth) * after)
            names.append(f"cliff depth {depth} at {start}")
    return names, np.array(curves)


def load_library(path: Path) -> Library:
    """Published curves from the shipped .npz file, with the smooth families beside them.

    Raises OSError where the file cannot be read and KeyError where it lacks a table.
    """
    with np.load(path) as data:
        recorded = data["shares"].astype(np.float64) / float(data["scale"])
        families = data["family"].tolist()
        cells = data["cell"].tolist()
    times = np.linspace(0.0, 1.0, recorded.shape[1])
    published = np.array([continued(times, curve) for curve in recorded])
    parts = [published]
    for family, (names, smooth) in {
        "smooth_slowing": power_curves(SLOWING_POWERS),
        "smooth_quickening": power_curves(QUICKENING_POWERS),
        "smooth_knee": knee_curves(),
        "smooth_settling": settling_curves(),
        "smooth_sigmoid": sigmoid_curves(),
        "smooth_cliff": cliff_curves(),
    }.items():
        parts.append(smooth)
        families += [family] * len(names)
        cells += names
    curves = np.concatenate(parts)
    low = LOW_SHARE / (2.0 - np.minimum(curves / LOW_SHARE, 1.0))
    curves = np.where(curves < LOW_SHARE, low, curves)
    return Library(
        log_share=np.log(curves).astype(np.float32),
        crossing=_crossings(curves),
        shares=_SHARES,
        prior=hierarchical_weights(families),
        family=tuple(families),
        cell=tuple(cells),
    )


def _crossings(curves: Floats) -> Floats:
    """First x (J, S) at which each curve (J, K) is below each share; NEVER if none."""
    lowest = np.minimum.accumulate(curves, axis=1)
    lowest -= 1e-9 * np.arange(curves.shape[1])  # strictly falling, so that it can be inverted
    return np.array([np.interp(-_SHARES, -curve, _GRID, right=NEVER) for curve in lowest])
