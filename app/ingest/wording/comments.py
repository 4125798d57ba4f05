"""Lines that are remarks and no rows: those that begin with #, // or a lone semicolon."""

import re

_MARKS = ("#", "//", ";")
_HEAD_CHARACTERS = 100_000
# A heading of row numbers is a sign alone, with the mark of the cells behind it.
_REMARK = {
    "#": re.compile(r"^[ \t]*#(?![,;\t|])[^\r\n]*", re.MULTILINE),
    "//": re.compile(r"^[ \t]*//[^\r\n]*", re.MULTILINE),
    ";": re.compile(r"^;[^\r\n]*", re.MULTILINE),
}


def without_remarks(text: str) -> tuple[str, dict[int, str]]:
    """The text with every remark as an empty line, and the remarks of the head by their index.

    A semicolon begins a remark only where no other line has one: else its first cell is empty.
    """
    head: dict[int, str] = {}
    for mark in _MARKS:
        if not (text.lstrip().startswith(mark) or f"\n{mark}" in text or f"\n {mark}" in text):
            continue
        first = text[:_HEAD_CHARACTERS]
        if mark == ";" and any(
            ";" in line and not line.startswith(";") for line in first.splitlines()
        ):
            continue
        for found in _REMARK[mark].finditer(first):
            head[text.count("\n", 0, found.start())] = found[0].lstrip(" \t#/;").strip()
        text = _REMARK[mark].sub("", text)
    return text, head
