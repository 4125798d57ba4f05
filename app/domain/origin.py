"""Where readings came from, in words."""

from app.domain.noted import noted
from app.domain.saying import say

_WAYS = {
    "typed": noted("typed"),
    "pasted": noted("pasted"),
    "invented": noted("invented"),
    "page": noted("typed on the page"),
    "feed": noted("sent by a device"),
}


def origin(source: str) -> str:
    """What is stored as the source, said to the reader: a way by its name, a file by its own."""
    return say(_WAYS[source]) if source in _WAYS else source
