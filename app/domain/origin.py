"""Where a reading of a running test came from, in words."""

from app.domain.marks import N_
from app.domain.message import say

_WAYS = {
    "page": N_("typed on the page"),
    "feed": N_("sent by a device"),
}


def origin(source: str) -> str:
    """What is stored as the source, said to the reader; an unknown one stays as it is."""
    return say(_WAYS[source]) if source in _WAYS else source
