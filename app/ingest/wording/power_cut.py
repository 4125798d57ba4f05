"""Zeros that a file system leaves in a log whose power was cut while it was written."""

import re

# Shorter runs are those of a binary file, or of text in two bytes a character.
_LEAST_RUN = 4
_LEAST_LINES = 2


def without_zeros(data: bytes) -> tuple[bytes, int]:
    """The text without runs of zeros, and how many zeros there were.

    What stands in one line with them is left out, too: a number there may have lost its end. Data
    that is no text comes back as it is.
    """
    if b"\0" not in data:
        return data, 0
    runs = [found.span() for found in re.finditer(rb"\0+", data)]
    if any(end - begin < _LEAST_RUN for begin, end in runs):
        return data, 0
    kept: list[bytes] = []
    at = 0
    for begin, end in runs:
        line = max(data.rfind(b"\n", at, begin) + 1, at)
        kept.append(data[at:line])
        behind = data.find(b"\n", end)
        at = max(at, len(data) if behind < 0 else behind)
    kept.append(data[at:])
    text = b"".join(kept)
    if text.count(b"\n") < _LEAST_LINES:
        return data, 0
    return text, sum(end - begin for begin, end in runs)
