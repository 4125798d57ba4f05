"""Change one small thing of the program at a time and see whether a test notices.

    python -m tests.tools.mutate app/analysis [--number 50] [--seed 1] [--tests PATHS] [--jobs 1]

Works on a copy of the tree. Which tests run which line is measured once, with the suite (minutes),
and again for test files that have changed. A mutation then meets only the tests that run its line,
the nearest and quickest first, until one fails. Named are the mutations that no test notices, and
apart from them those known to change nothing (equivalent_mutations.toml).
"""

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import accumulate
from pathlib import Path

from tests.tools.mutations import Mutation, mutations
from tests.tools.one_mutation import Change, Outcome, Runner, Trial, collected
from tests.tools.tests_by_line import TestsByLine, is_test

ROOT = Path(__file__).resolve().parents[2]
KEPT = Path(tempfile.gettempdir()) / "tests-by-line"
EQUIVALENT = Path(__file__).with_name("equivalent_mutations.toml")
# Minutes long, or about processes of their own, which nothing here sees the lines of.
LEFT_OUT = (
    "tests/browser/",
    "tests/tools/",
    "tests/test_killed_server",
    "tests/test_slow",
    "tests/test_serving",
)
# The tests of one mutation that take longer together than this are left out, and counted.
MAX_SECONDS = 120.0


@dataclass(frozen=True)
class Judged:
    """A mutation with what became of it; left_out of its tests were not run."""

    mutation: Mutation
    outcome: Outcome
    by: str = ""
    tests: int = 0
    left_out: int = 0


@contextmanager
def copied(root: Path) -> Iterator[tuple[Path, list[str]]]:
    """A copy of the tree with everything that git would keep, and its files; gone afterwards."""
    asked = ["git", "ls-files", "-coz", "--exclude-standard"]
    listed = subprocess.run(asked, cwd=root, capture_output=True, text=True, check=True).stdout
    files = sorted({name for name in listed.split("\0") if (root / name).is_file()})
    with tempfile.TemporaryDirectory(prefix="mutated-") as folder:
        tree = Path(folder)
        for name in files:
            (tree / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(root / name, tree / name)
        yield tree, files


def chosen(sources: dict[str, str], number: int, seed: int) -> list[Mutation]:
    """So many of all mutations of these modules, by chance, in their order."""
    every = [one for file in sorted(sources) for one in mutations(file, sources[file])]
    return sorted(random.Random(seed).sample(every, min(number, len(every))))


def in_turn(mutation: Mutation, known: TestsByLine) -> list[str]:
    """The tests of a mutation: from files that import its module first, then from those of its
    layer, of each the quickest."""
    layer = Path(mutation.file).parent.name
    importing = known.tests_importing(mutation.file)

    def far(test: str) -> tuple[bool, bool, float]:
        file = test.partition("::")[0]
        return file not in importing, Path(file).parent.name != layer, known.seconds[test]

    return sorted(known.of(mutation.file, mutation.line), key=far)


def judge(
    found: Sequence[Mutation],
    sources: dict[str, str],
    known: TestsByLine,
    runner: Runner,
    jobs: int,
) -> Iterator[Judged]:
    """What becomes of each, several at once."""
    running: dict[Trial, Judged] = {}
    for mutation in found:
        tests = in_turn(mutation, known)
        taken = _within(tests, known.seconds)
        begun = Judged(mutation, Outcome.NOT_RUN, "", len(taken), len(tests) - len(taken))
        if not taken:
            yield begun
            continue
        if len(running) == jobs:
            yield _ended(running)
        change = Change(mutation.file, mutation.in_place(sources[mutation.file]))
        seconds = sum(known.seconds[test] for test in taken)
        running[Trial(runner, taken, seconds, change)] = begun
    while running:
        yield _ended(running)


def _within(tests: Sequence[str], seconds: dict[str, float]) -> list[str]:
    """As many of the tests as fit in the time, and one at the least."""
    spent = accumulate(seconds[test] for test in tests)
    count = sum(1 for one in spent if one <= MAX_SECONDS)
    return list(tests[: max(count, 1)])


def _ended(running: dict[Trial, Judged]) -> Judged:
    one = Trial.first_of(running)
    begun, failed = running.pop(one), one.failed()
    if failed is None:
        return replace(begun, outcome=Outcome.TOO_LONG)
    outcome = Outcome.NOTICED if failed else Outcome.UNNOTICED
    return replace(begun, outcome=outcome, by=failed[0] if failed else "")


def known_without_effect() -> list[dict[str, str]]:
    found = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8")).get("mutation", [])
    return list(found)


def without_effect(judged: Judged, source: str) -> str:
    """Why a mutation changes nothing; nothing where that is not known."""
    line, becomes = sides(judged.mutation.diff(source))
    for one in known_without_effect():
        if (one["file"], one["line"], one["becomes"]) == (judged.mutation.file, line, becomes):
            return one["because"]
    return ""


def sides(diff: Sequence[str]) -> tuple[str, str]:
    """What goes and what comes, each as one line."""
    went, came = (" ".join(line[1:].strip() for line in diff if line[0] == side) for side in "-+")
    return went, came


def run(
    root: Path, places: Sequence[str], number: int, seed: int, tests: Sequence[str], jobs: int
) -> list[Judged]:
    """Judge so many mutations and print what becomes of them."""
    judged: list[Judged] = []
    with copied(root) as (tree, files):
        test_files = [
            file
            for file in files
            if is_test(file) and file.startswith(tuple(tests)) and not file.startswith(LEFT_OUT)
        ]
        known = TestsByLine(tree, KEPT, files, test_files)
        known.measure(jobs)
        sources = {
            file: (tree / file).read_text(encoding="utf-8")
            for file in files
            if file.endswith(".py") and file.startswith(tuple(places))
        }

        def work(runner: Runner) -> None:
            for one in judge(chosen(sources, number, seed), sources, known, runner, jobs):
                judged.append(one)
                if not one.outcome.noticed:
                    _print(one, sources[one.mutation.file])
            _print_sum(judged, sources, runner)

        collected(tree, test_files, work)
    return judged


def _print(one: Judged, source: str) -> None:
    because = without_effect(one, source)
    ran = f"{one.tests} tests" + (f", {one.left_out} more left out" if one.left_out else "")
    print(f"{one.mutation.file}:{one.mutation.line}: {because or f'{one.outcome} ({ran})'}")
    print(*(f"    {line}" for line in one.mutation.diff(source)[:8]), sep="\n", flush=True)


def _print_sum(judged: Sequence[Judged], sources: dict[str, str], runner: Runner) -> None:
    alone = [one.by for one in judged if one.by]
    for test in Trial(runner, list(dict.fromkeys(alone)), 3600.0, None).failed() or []:
        count = alone.count(test)
        print(f"{test} fails without a mutation, too: its {count} are not proven to be noticed")
    idle = sum(
        not one.outcome.noticed and bool(without_effect(one, sources[one.mutation.file]))
        for one in judged
    )
    counts = Counter(one.outcome for one in judged)
    print(*(f"{counts[outcome]} {outcome}" for outcome in Outcome if counts[outcome]), sep=", ")
    unnoticed = sum(not one.outcome.noticed for one in judged) - idle
    print(f"{unnoticed} of {len(judged)} are not noticed, {idle} more change nothing.")


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("places", nargs="+", help="modules or folders")
    parser.add_argument("--number", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--tests", nargs="+", default=["tests"], help="files or folders")
    parser.add_argument("--jobs", type=int, default=1)
    asked = parser.parse_args()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    judged = run(ROOT, asked.places, asked.number, asked.seed, asked.tests, asked.jobs)
    sys.exit(not judged)


if __name__ == "__main__":
    main()
