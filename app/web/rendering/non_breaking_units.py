"""Numbers that stay on one line with their unit, days with their month, on a finished page.

It is done with the finished page, so that texts of the catalogue, of the analysis and of templates
are alike, and data, files and JSON keep their plain spaces.
"""

import re

_UNITS = (
    *("Ah", "mAh", "kWh", "Wh", "W", "A", "mA", "V", "mV", "C", "°C", "°F", "%", "h", "min", "s"),
    *("MB", "kB"),
)
_MONTHS = "Jan|Feb|Mar|Mär|Apr|May|Mai|Jun|Jul|Aug|Sep|Oct|Okt|Nov|Dec|Dez"
# The space between a number, which may be marked, and its unit, on either side of ±, between a day
# and its month, and between a short month and its year. It begins with the space itself: a page is
# searched for that much faster than for what comes before.
_MARKED = "|".join(f"(?<=[0-9]{end} )" for end in ("", "</strong>", "</em>", "</b>"))
_SPACE = re.compile(
    rf" (?:(?=(?:{'|'.join(_UNITS)})(?!\w))(?:{_MARKED})|(?=± [0-9])(?<=[0-9] )"
    rf"|(?=[0-9])(?:(?<=± )|(?=[0-9]{{4}}\b)(?<=(?:{_MONTHS}) ))"
    rf"|(?={_MONTHS})(?:(?<=[0-9] )|(?<=[0-9]\. )))"
)
# What keeps its characters: what was typed or is copied, programs and pictures.
_KEPT = re.compile(r"<(textarea|script|style|pre|code|svg)\b.*?</\1>", re.DOTALL)
_NO_BREAK = "\N{NO-BREAK SPACE}"


def non_breaking(page: str) -> str:
    """The page with no line end between what belongs together."""
    # What is put into a `Markup` would be escaped once more.
    page = str(page)
    made: list[str] = []
    done = 0
    for kept in _KEPT.finditer(page):
        made += (_joined(page[done : kept.start()]), kept[0])
        done = kept.end()
    return "".join((*made, _joined(page[done:])))


def _joined(part: str) -> str:
    """A part of a page that ends where a tag begins or behind its end."""

    def space(found: re.Match[str]) -> str:
        # An attribute is not seen, but may be compared or sent.
        within_tag = part.rfind("<", 0, found.start()) > part.rfind(">", 0, found.start())
        return found[0] if within_tag else _NO_BREAK

    return _SPACE.sub(space, part)
