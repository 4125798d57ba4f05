"""The table of controls in web/SECURITY.md names tests that there are, and every chapter."""

import ast
import re
from pathlib import Path

import pytest

pytestmark = pytest.mark.any_database

TESTS = Path(__file__).parent
TEXT = (TESTS / "web" / "SECURITY.md").read_text()
NAMED = sorted(set(re.findall(r"`([a-z_/]+\.py)::(\w+)`", TEXT)))


@pytest.mark.parametrize(("file", "name"), NAMED)
def test_a_test_that_is_named_is_there(file, name):
    body = ast.parse((TESTS / file).read_text()).body
    assert name in {one.name for one in body if isinstance(one, ast.FunctionDef)}


def test_every_chapter_of_the_standard_has_a_row():
    rows = re.findall(r"^\| (V[\dV, ]+) \|", TEXT, re.MULTILINE)
    assert set(re.findall(r"V\d+", " ".join(rows))) == {f"V{n}" for n in range(1, 18)}
    assert len(NAMED) > 50
