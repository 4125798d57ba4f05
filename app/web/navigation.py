"""The parts of the owner's pages, and which of them a page belongs to."""

from dataclasses import dataclass

from fastapi import Request

from app.domain.marks import N_
from app.domain.message import say
from app.web.request import path_of


@dataclass(frozen=True)
class Part:
    """An entry of the navigation: its page's name, its label, what addresses lie below it."""

    name: str
    title: str
    below: tuple[str, ...]

    @property
    def label(self) -> str:
        return say(self.title)


_OF_BATTERIES = ("/batteries", "/discharges", "/runs", "/events", "/shares", "/comparison")
PARTS = (
    Part("batteries", N_("Batteries"), _OF_BATTERIES),
    Part("meters", N_("Meters"), ("/meters",)),
    Part("places", N_("Places"), ("/places", "/temperatures")),
    Part("method", N_("Method"), ("/method", "/heat-in-plain-words")),
    Part("records", N_("Records"), ("/records", "/received")),
    Part("bin", N_("Bin"), ("/bin",)),
)


def current_part(request: Request) -> tuple[str, str]:
    """The name of the part that a page belongs to and the value of its aria-current; empty where
    it belongs to none."""
    path = path_of(request).removeprefix(request.scope.get("root_path", ""))
    for part in PARTS:
        at = str(request.app.url_path_for(part.name))
        if path == at:
            return part.name, "page"
        if any(path == one or path.startswith(f"{one}/") for one in part.below):
            return part.name, "true"
    return "", ""
