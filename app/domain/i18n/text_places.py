"""Where values stand in a text: its pieces and its {places}, found once for each text."""

from functools import lru_cache
from string import Formatter
from typing import NamedTuple

# More than the catalogue has texts and pages join parts.
_TEXTS_KEPT = 8_192


class Piece(NamedTuple):
    """Plain text and the place behind it: the name of its value, None where there is no place, and
    how that is written."""

    plain: str
    name: str | None
    spec: str


@lru_cache(maxsize=_TEXTS_KEPT)
def pieces_of(text: str) -> tuple[Piece, ...]:
    """The pieces of a text, by the rules of `str.format`. Raises ValueError where it breaks them.

    Names are plain ones: a value is written whole, by its format alone.
    """
    return tuple(Piece(plain, name, spec or "") for plain, name, spec, _ in Formatter().parse(text))
