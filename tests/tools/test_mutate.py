"""The search for what no test notices, in a program that is tested in part."""

import subprocess
import sys

import pytest

from tests.tools import mutate
from tests.tools.mutations import mutations

pytestmark = pytest.mark.any_database

PROGRAM = """\
FULL_V, ALLOWED = 13.6, 2


def charge_ah(current_a, hours):
    return current_a * hours / len("hh") * ALLOWED


def is_empty(voltage_v, cut_off_v):
    return voltage_v <= cut_off_v


def unused(cells):
    return cells + 1
"""
ITS_TESTS = """\
from app.counting import charge_ah, is_empty


def test_ten_amperes_for_three_hours_are_thirty_ampere_hours():
    assert charge_ah(10, 3) == 30


def test_below_the_voltage_it_is_empty_and_above_it_is_not():
    assert is_empty(9.9, 10)
    assert not is_empty(10.1, 10)
"""


SETTINGS = """\
[tool.pytest.ini_options]
addopts = "--import-mode=importlib -n auto --dist worksteal"
"""
RUN = """\
import sys
from pathlib import Path
from tests.tools import mutate
root, mutate.KEPT = Path(sys.argv[1]), Path(sys.argv[2])
mutate.run(root, ["app"], 1000, 1, ["tests"], 2)
"""


@pytest.fixture
def tree(tmp_path):
    """A program of its own, under version control as ours is."""
    root = tmp_path / "tree"
    for name, text in {
        "app/__init__.py": "",
        "app/counting.py": PROGRAM,
        "tests/test_counting.py": ITS_TESTS,
        "pyproject.toml": SETTINGS,
    }.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text)
    subprocess.run(["git", "init", "-q"], cwd=root, check=True)
    return root


def test_what_no_test_notices_is_named_and_the_tree_is_left_as_it_is(tree, tmp_path):
    command = [sys.executable, "-c", RUN, tree, tmp_path / "kept"]
    done = subprocess.run(command, cwd=mutate.ROOT, capture_output=True, text=True, check=True)
    lines = [line for line in done.stdout.splitlines() if line]
    named = [(lines[at], lines[at + 2]) for at, line in enumerate(lines) if ": noticed by" in line]
    # At 10 V exactly nothing is tested: “less” for “at most” passes. So does another number of
    # volts for what is full: it is read when the module is imported, but asked by no test.
    assert sorted(named) == [
        ("app/counting.py:1: noticed by no test (2 tests)", "    +FULL_V, ALLOWED = (12.24), 2"),
        ("app/counting.py:1: noticed by no test (2 tests)", "    +FULL_V, ALLOWED = 14.96, 2"),
        (
            "app/counting.py:9: noticed by no test (1 tests)",
            "    +    return voltage_v < cut_off_v",
        ),
    ]
    unrun = [lines[at + 2].strip() for at, line in enumerate(lines) if ": run by no" in line]
    assert sorted(unrun) == [
        "+    return None",
        "+    return cells + (0)",
        "+    return cells + 2",
        "+    return cells - 1",
    ]
    assert lines[-2:] == [
        "8 noticed, 3 noticed by no test, 4 run by no test",
        "7 of 15 are not noticed, 0 more change nothing.",
    ]
    assert (tree / "app/counting.py").read_text() == PROGRAM
    assert sorted(path.name for path in tree.iterdir()) == [
        ".git",
        "app",
        "pyproject.toml",
        "tests",
    ]


@pytest.mark.parametrize(
    ("line", "becomes"),
    [
        ("a = b < c", {"a = b <= c", "a = b >= c"}),
        ("a = b is not c", {"a = b is c"}),
        ("a = (b) + c", {"a = (b) - c"}),
        ("a += b", {"a -= b"}),
        ("a = b and c or d", {"a = b or c or d", "a = b and c and d"}),
        ("a = not b", {"a = (b)"}),
        ("a = 2", {"a = 3", "a = (1)"}),
        ("a = 0.5", {"a = 0.55", "a = (0.45)"}),
        ("a = max(b)", {"a = min(b)"}),
        ("a = b if c else d", {"a = b if (not (c)) else d"}),
        ("a = 'Ω' if b > c else d", {"a = 'Ω' if b >= c else d", "a = 'Ω' if b <= c else d"}),
        ("a: 'int | None' = b", set()),
        ("a = zip(b, strict=True)", set()),
        ("b.append(c)", {"pass"}),
    ],
)
def test_what_a_line_becomes(line, becomes):
    assert {one.applied(line) for one in mutations("one.py", line)} == becomes


def test_the_sample_is_the_same_for_the_same_seed_and_another_for_another():
    sources = {"app/counting.py": PROGRAM}
    first, again, other = (mutate.chosen(sources, 4, seed) for seed in (1, 1, 5))
    assert first == again != other
    assert len(first) == len(set(first)) == 4


def test_every_mutation_known_to_change_nothing_is_still_one():
    """A line that was changed since needs another look."""
    for one in mutate.known_without_effect():
        source = (mutate.ROOT / one["file"]).read_text(encoding="utf-8")
        sides = {mutate.sides(found.diff(source)) for found in mutations(one["file"], source)}
        assert (one["line"], one["becomes"]) in sides, one
        assert one["because"]
