"""The parts of the owner's pages, and which of them a page belongs to."""

from dataclasses import dataclass

from fastapi import Request

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.web.request import has_owner_pages, path_of


@dataclass(frozen=True)
class Part:
    """An entry of the navigation: its page's name, its label, what addresses lie below it."""

    name: str
    title: str
    below: tuple[str, ...]

    @property
    def label(self) -> str:
        return say(self.title)


_OF_BATTERIES = ("/batteries", "/discharges", "/runs", "/events", "/shares", "/history")
_OF_SETTINGS = ("/preferences", "/meters", "/places", "/temperatures", "/door", "/network", "/bin")
_OF_HELP = ("/good-test", "/words", "/method", "/heat-in-plain-words", "/help")
# As many as stand in one row on a telephone.
PARTS = (
    Part("battery_list", N_("Batteries"), _OF_BATTERIES),
    Part("comparison", N_("Compare"), ()),
    Part("records", N_("Records"), ("/records", "/received")),
    Part("settings", N_("Settings"), _OF_SETTINGS),
    Part("help", N_("Help"), _OF_HELP),
)


def current_part(request: Request) -> tuple[str, str]:
    """The name of the part that a page belongs to and the value of its aria-current; empty where
    it belongs to none."""
    if not has_owner_pages(request):
        return "", ""
    path = path_of(request).removeprefix(request.scope.get("root_path", ""))
    for part in PARTS:
        at = str(request.app.state.path_of(part.name))
        if path == at or (path == "/" and part is PARTS[0]):
            return part.name, "page"
        if any(path == one or path.startswith(f"{one}/") for one in part.below):
            return part.name, "true"
    return "", ""
