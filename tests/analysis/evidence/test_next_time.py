import re
from pathlib import Path

import pytest

import app.analysis
from app.analysis.evidence.next_time import against_doubt

_LINE = re.compile(r'(?:within|estimated)\(\s*"(\w+)"')


def codes():
    """The lines that a budget can have, as the analysis writes them."""
    sources = Path(next(iter(app.analysis.__path__))).rglob("*.py")
    found = {code for path in sources for code in _LINE.findall(path.read_text("utf-8"))}
    corrections = {"temperature_coefficient", "temperature_reading", "rate_coefficient"}
    return sorted(found | corrections | {"end", "tail"})


@pytest.mark.parametrize("code", codes())
def test_every_line_of_a_budget_has_advice_that_its_owner_can_follow(code):
    assert str(against_doubt(code)).startswith("Next time, ")


def test_nobody_is_told_to_improve_a_coefficient():
    assert len(codes()) >= 15
    assert "closer to the rated current" in str(against_doubt("rate_coefficient"))
