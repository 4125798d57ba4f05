"""Texts without what nobody can see and what turns round how others are read."""

import re
import unicodedata

# What XML does not take or discourages (W3C, XML 1.0, 2.2 Characters): a picture with one of them
# opens nowhere. And marks that turn the direction of all text behind them (Unicode, UAX #9: the
# embeddings, overrides and isolates): a name with one of them shows the 54 behind it as 45. From
# memory. Writing from right to left needs none of them.
_TURNING = "\u202a-\u202e\u2066-\u2069"
_UNSEEN = re.compile(
    f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f{_TURNING}\ud800-\udfff\ufffe\uffff]"
)


def legible(text: str) -> str:
    """The text without control characters and marks of direction."""
    return _UNSEEN.sub("", text)


def can_be_seen(text: str) -> bool:
    """Whether a text has a character that shows; spaces of no width do not."""
    return any(unicodedata.category(letter)[0] not in "CZ" for letter in text)
