"""Rounding a bound for the page."""

import math


def rounded_down(value: float, digits: int = 1) -> float:
    """A lower bound with fewer digits: never more than was proven.

    What is a whole number of steps but for the computer's last bits stays as it is.
    """
    scale = 10.0**digits
    return math.floor(value * scale + 1e-6) / scale


def rounded_up(value: float, digits: int = 1) -> float:
    """An upper bound with fewer digits: never less than was found, as above."""
    scale = 10.0**digits
    return math.ceil(value * scale - 1e-6) / scale
