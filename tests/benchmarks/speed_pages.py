"""Requests a second of the main pages beside a bare page of their size, start and memory."""

import itertools
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from app.server.application import create_app
from app.services.access import shares
from app.settings import Settings
from tests.benchmarks.grown import grow_battery, grow_copies
from tests.benchmarks.served import BARE, Served, Visitor, serving
from tests.benchmarks.speed_row import Row
from tests.builders import NOW

TESTS, BATTERIES = 40, 2_000
ROUND_S, ROUNDS = 1.0, 5
REQUESTS = 10_000
AIM = {"bare page": "", "/help": "0.25 or better (battery), 0.33 (list, test)"}


def rate(visitor: Visitor, paths: Iterator[str]) -> float:
    """Pages a second on one connection."""
    count, began = 0, time.perf_counter()
    while (taken := time.perf_counter() - began) < ROUND_S:
        visitor.get(next(paths))
        count += 1
    return count / taken


def beside_bare(visitor: Visitor, what: str, path: str) -> Iterator[Row]:
    """The page beside bare text of its size, and beside a page of ours that computes nothing."""
    size = len(visitor.get(path))
    for beside, other in (("bare page", f"{BARE}{size}"), ("/help", "/help")):
        ways = itertools.repeat(path), itertools.repeat(other)
        pairs = [tuple(rate(visitor, way) for way in ways) for _ in range(ROUNDS)]
        ours, its = (statistics.median(one) for one in zip(*pairs, strict=True))
        yield Row(
            f"{what}, {size / 1000:.0f} kB",
            f"{ours:,.0f} a second",
            f"{beside} {its:,.0f} a second",
            f"{ours / its:.2f}",
            AIM[beside],
        )


def page_rows() -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as name:
        store = create_app(Settings(data_dir=Path(name))).state.store
        grow_battery(store, TESTS)
        grow_copies(store, BATTERIES)
        token = shares.share_battery(store, 1, "", None, NOW).token
        store.engine.dispose()
        with serving(Path(name)) as served:
            yield Row("start to the list of 2,000, forty made", f"{served.start_s:.2f} s")
        with (
            serving(Path(name), beside_bare=True) as served,
            closing(Visitor(served.address)) as visitor,
        ):
            what = {
                f"battery, {TESTS} tests": "/batteries/1",
                f"list of {BATTERIES:,}": "/",
                "shared link": f"/shared/{token}",
                "one test": "/discharges/1",
            }
            for title, path in what.items():
                yield from beside_bare(visitor, title, path)
            yield memory(served, visitor, list(what.values()))
    with tempfile.TemporaryDirectory() as name, serving(Path(name)) as served:
        yield Row("start to the first page, nothing stored", f"{served.start_s:.2f} s")


def memory(served: Served, visitor: Visitor, paths: list[str]) -> Row:
    """After a first thousand, each page in its turn, one in ten of them made anew."""
    asked = (f"{path}?n=m{number // 10}" for number in itertools.count() for path in paths)

    def ask(count: int) -> float:
        for _ in range(count):
            visitor.get(next(asked))
        return served.memory_mb()

    before, after = ask(REQUESTS // 10), ask(REQUESTS)
    return Row(
        f"memory of the server after {REQUESTS:,} more requests",
        f"{after:.0f} MB",
        f"before them {before:.0f} MB",
        f"{after / before:.2f}",
    )
