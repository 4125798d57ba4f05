"""One line of the speed table: what was measured, beside its nearest limit."""

import math
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

# A figure is the median of so many rounds; ours and what stands beside take turns in each.
ROUNDS = 7


@dataclass(frozen=True)
class Row:
    """ours and beside in the same unit; ratio is ours over beside, empty where nothing is."""

    what: str
    ours: str
    beside: str = ""
    ratio: str = ""
    aim: str = ""

    def __str__(self) -> str:
        return f"| {self.what} | {self.ours} | {self.beside} | {self.ratio} | {self.aim} |"


def seconds(do: Callable[[], object]) -> float:
    began = time.perf_counter()
    do()
    return time.perf_counter() - began


def in_turns(*things: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """The median seconds of each; a calm and a busy moment meet all of them alike."""
    for do in things:
        do()
    taken = [[seconds(do) for do in things] for _ in range(rounds)]
    return [statistics.median(one) for one in zip(*taken, strict=True)]


def exponent(sizes: Sequence[int], costs: Sequence[float]) -> str:
    """The powers of the size by which the cost grows from one size to the next."""
    pairs = zip(sizes, sizes[1:], costs, costs[1:], strict=False)
    return ", ".join(f"{math.log(d / c) / math.log(b / a):.2f}" for a, b, c, d in pairs)


def ms(value_s: float) -> str:
    value = 1000 * value_s
    return f"{value:.3g} ms" if value < 1000 else f"{value:,.0f} ms"


def compared(what: str, ours: float, beside: str, its: float, aim: str = "") -> Row:
    """Times in seconds; less is better."""
    return Row(what, ms(ours), f"{beside} {ms(its)}", f"{ours / its:.2f}", aim)


def growing(what: str, sizes: Sequence[int], costs: Sequence[float], aim: str) -> Row:
    """Times in seconds at each size, with the exponents between them."""
    shown = ", ".join(f"{size:,}: {ms(cost)}" for size, cost in zip(sizes, costs, strict=True))
    return Row(what, shown, "", f"n^({exponent(sizes, costs)})", aim)
