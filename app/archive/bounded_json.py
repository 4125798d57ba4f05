"""JSON that a stranger may have written, read in bounded memory."""

import json
from typing import Any

# The descriptor of an archive has 8 levels, a cell 2.
MAX_LEVELS = 20


def read_json(text: bytes, most_values: int) -> Any:
    """The value of a text. Raises ValueError for what is no JSON, too many values or levels.

    A few bytes become an object of some hundred, so values are counted before any is made: each
    stands behind a bracket or a comma, or is named by one that does. Those within texts count, too.
    """
    if sum(text.count(mark) for mark in (b"{", b"[", b",")) > most_values:
        raise ValueError("too many values")
    try:
        value = json.loads(text)
    except RecursionError as error:
        raise ValueError("too many levels") from error
    check_levels(value)
    return value


def check_levels(value: Any) -> None:
    """Raises ValueError where lists and objects lie deeper in one another than they may."""
    level, levels = [value], 0
    while level:
        inside = [one for one in level if isinstance(one, dict | list)]
        if inside and levels == MAX_LEVELS:
            raise ValueError("too many levels")
        level = [held for one in inside for held in (one.values() if type(one) is dict else one)]
        levels += 1
