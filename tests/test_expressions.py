"""No regular expression of the program can be made to search for ever (ReDoS).

A repeat inside a repeat, neither with an end, is what makes the time grow like 2 to the power of
the length; of the rest the length is bounded where they meet what others send.
"""

import ast
import re
from pathlib import Path

import pytest

import app

pytestmark = pytest.mark.any_database

ROOT = Path(app.__file__).parent
CALLS = {"compile", "match", "search", "fullmatch", "findall", "sub", "split", "finditer"}
ENDLESS = re._parser.MAXREPEAT  # type: ignore[attr-defined]
LONG = 50


def expressions():
    """Every expression that stands in the code as text, with its place; parts in braces as x."""
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            owner = node.func.value
            if isinstance(owner, ast.Name) and owner.id == "re" and node.func.attr in CALLS:
                text = written(node.args[0])
                if text is not None:
                    yield f"{path.relative_to(ROOT)}:{node.lineno}", text


def written(node):
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(written(part) or "x" for part in node.values)
    return None


def nested(parts, inside=False):
    """Whether a long repeat stands inside a long repeat."""
    for operation, value in parts:
        name = str(operation)
        if name in ("MAX_REPEAT", "MIN_REPEAT"):
            _, most, body = value
            long = most == ENDLESS or most > LONG
            if (inside and long) or nested(body, inside or long):
                return True
        elif name == "BRANCH":
            if any(nested(one, inside) for one in value[1]):
                return True
        elif name == "SUBPATTERN":
            if nested(value[-1], inside):
                return True
        elif name in ("ASSERT", "ASSERT_NOT") and nested(value[1], inside):
            return True
    return False


def parsed(text):
    return re._parser.parse(text)  # type: ignore[attr-defined]


# A line repeated: each ends with a line feed that nothing in it can be, so there is one way only.
LINES = {"ingest/moments.py"}


@pytest.mark.parametrize(("place", "text"), list(expressions()))
def test_no_expression_repeats_within_a_repeat(place, text):
    assert not nested(parsed(text)) or place.split(":")[0] in LINES


def test_there_are_expressions_to_look_at():
    assert len(list(expressions())) > 30


@pytest.mark.parametrize("text", ["(a+)+$", "(?:a*)*", "((ab)*c*)+", "(a|b+)*", "(?=(a+)+)"])
def test_one_that_does_is_seen(text):
    assert nested(parsed(text))
