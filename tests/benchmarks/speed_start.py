"""How soon the program is there: its first page, and a small file analysed, beside bare Python."""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.benchmarks.served import serving
from tests.benchmarks.speed_row import Row, ms

ROUNDS = 5
LINES = "".join(f"{hour},{13.2 - 0.1 * hour:.2f},9.0\n" for hour in range(12))


def start_rows() -> Iterator[Row]:
    bare = _cost_s(["-c", "import numpy"])
    with tempfile.TemporaryDirectory() as name:
        file = Path(name) / "test.csv"
        file.write_text("time_h,voltage_v,current_a\n" + LINES)
        analyse = ["-m", "app", "analyse", str(file), "--rated-ah", "100"]
        yield _beside("fadeline analyse, a file of 12 rows", _cost_s(analyse), bare, "0.5 s")
    with tempfile.TemporaryDirectory() as name:
        # The first start makes the tables; every other finds them.
        taken = []
        for _ in range(ROUNDS):
            with serving(Path(name)) as served:
                taken.append(served.start_s)
    yield Row("start to the first page, the first ever", f"{taken[0]:.2f} s", aim="1.2 s")
    yield Row("start to the first page, every other", f"{min(taken[1:]):.2f} s", aim="1.2 s")


def _beside(what: str, ours: float, bare: float, aim: str) -> Row:
    return Row(what, ms(ours), f"Python with numpy {ms(bare)}", f"{ours / bare:.1f}", aim)


def _cost_s(arguments: Sequence[str]) -> float:
    """Processor seconds of a Python of its own, the smallest of several."""
    best = float("inf")
    for _ in range(ROUNDS):
        before = os.times()
        subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
        after = os.times()
        used = after.children_user - before.children_user
        best = min(best, used + after.children_system - before.children_system)
    return best
