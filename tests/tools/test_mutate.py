"""The search for what no test notices, in a program that is tested in part."""

import subprocess

import pytest

from tests.tools import mutate
from tests.tools.mutations import mutations
from tests.tools.one_mutation import Outcome

pytestmark = pytest.mark.any_database

PROGRAM = """\
def charge_ah(current_a, hours):
    return current_a * hours


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


@pytest.fixture
def tree(tmp_path, monkeypatch):
    """A program of its own, under version control as ours is."""
    monkeypatch.setattr(mutate, "KEPT", tmp_path / "kept")
    root = tmp_path / "tree"
    for name, text in {
        "app/__init__.py": "",
        "app/counting.py": PROGRAM,
        "tests/test_counting.py": ITS_TESTS,
        "pyproject.toml": '[tool.pytest.ini_options]\naddopts = "--import-mode=importlib"\n',
    }.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text)
    subprocess.run(["git", "init", "-q"], cwd=root, check=True)
    return root


def test_the_one_that_no_test_notices_is_named_and_the_tree_is_left_as_it_is(tree, capfd):
    judged = mutate.run(tree, ["app"], 1000, 1, ["tests"], 1)
    printed = capfd.readouterr().out
    by_outcome = {
        outcome: [one.mutation.text for one in judged if one.outcome is outcome]
        for outcome in Outcome
    }
    # At 10 V exactly nothing is tested: “less” for “at most” passes.
    assert by_outcome[Outcome.UNNOTICED] == ["<"]
    assert sorted(by_outcome[Outcome.NOTICED]) == ["/", ">", "None", "None"]
    assert sorted(by_outcome[Outcome.NOT_RUN]) == ["(0)", "-", "2", "None"]
    assert "app/counting.py:6: noticed by no test (1 tests)" in printed
    assert (
        "    -    return voltage_v <= cut_off_v\n    +    return voltage_v < cut_off_v" in printed
    )
    assert "5 of 9 are not noticed" in printed
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
