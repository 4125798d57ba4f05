"""Student's and the normal distribution, at whatever numbers or arrays are given.

They are scipy's. It is imported when it is first asked: with what it imports itself that takes
0.2 s of processor, as much as the rest of `fadeline analyse` on a small file, which rarely asks.
A single normal quantile or probability, which that needs, is known to the standard library.
"""

import math
from functools import cache
from statistics import NormalDist
from types import ModuleType

from app.analysis.statistics.arrays import Floats

_STANDARD = NormalDist()


@cache
def _special() -> ModuleType:
    from scipy import special

    module: ModuleType = special
    return module


def student_probability(freedom: float, t: float) -> float:
    """The chance that Student's t is at most t; the normal one where the freedom is unlimited."""
    if math.isinf(freedom):
        return 0.5 * math.erfc(-t / math.sqrt(2))
    return float(_special().stdtr(freedom, t))


def student_probabilities(freedom: float, t: Floats) -> Floats:
    """The chance that Student's t is at most t, for each t."""
    found: Floats = _special().stdtr(freedom, t)
    return found


def student_quantile(freedom: float, probability: float) -> float:
    """What Student's t stays below with that chance; the normal one of unlimited freedom."""
    if math.isinf(freedom):
        return _STANDARD.inv_cdf(probability)
    return float(_special().stdtrit(freedom, probability))


def student_shift(freedom: float, probability: float, t: float) -> float:
    """The non-centrality at which Student's t stays below t with that chance."""
    return float(_special().nctdtrinc(freedom, probability, t))


def normal_probabilities(z: Floats) -> Floats:
    """The chance that a standard normal value is at most z, for each z."""
    found: Floats = _special().ndtr(z)
    return found


def log_normal_probabilities(z: Floats) -> Floats:
    """The logarithm of `normal_probabilities`, exact where those are too small for a number."""
    found: Floats = _special().log_ndtr(z)
    return found


def normal_quantile(probability: float) -> float:
    """What a standard normal value stays below with that chance."""
    return _STANDARD.inv_cdf(probability)


def normal_quantiles(probability: Floats) -> Floats:
    """What a standard normal value stays below with each chance."""
    found: Floats = _special().ndtri(probability)
    return found
