"""Refusals on a finished page: each stands once, whole, at its field, and the list above leads
there.

It is done with the finished page, so that it is known which fields are in sight and what they are
called there. A refusal without such a field stands whole in the list.
"""

import re
from html import escape
from html.parser import HTMLParser
from itertools import accumulate

# What `problems_box` in templates/_partials/form.html writes for what was refused of a field.
_LINE = re.compile(
    r'<li data-refused="([^"]*)" data-label="([^"]*)" data-where="([^"]*)" data-given="([^"]*)">'
    r"(.*?)</li>",
    re.DOTALL,
)
# Where it stands whole at its field: as a sentence, or as a question with the box that answers it.
_WHOLE = re.compile("(problem|question)-(.+)")
# Parts of a label that are no name.
_BESIDE_NAME = {"needed", "hint"}
_BESIDE = "beside "
_VOID = {"br", "hr", "img", "input", "meta", "link", "wbr", "source", "col"}


def refused_once(page: str) -> str:
    """The page with a short line for each refusal that stands at its field, which is in sight."""
    # What is put into a `Markup` would be escaped once more.
    page = str(page)
    lines = list(_LINE.finditer(page))
    if not lines:
        return page
    seen = _Fields(page)
    # In the order of the fields; what has none in sight comes behind them.
    ordered = sorted(lines, key=lambda found: seen.refused.get(found[1], len(page)))
    made = [
        (place.start(), place.end(), _line(found, seen))
        for place, found in zip(lines, ordered, strict=True)
    ]
    made += [(at, at + len("<details"), "<details open") for at in seen.folded]
    parts: list[str] = []
    done = 0
    for begin, end, text in sorted(made):
        parts += (page[done:begin], text)
        done = end
    return "".join((*parts, page[done:]))


def _line(found: re.Match[str], seen: "_Fields") -> str:
    """The line of one field in the list."""
    name, called, where, given, whole = found.groups()
    if name not in seen.refused:
        return f"<li>{whole}</li>"
    label = called or escape(seen.labels.get(name, "")) or where
    target = name if name in seen.ids else f"problem-{name}"
    if not label:
        # It has no name to go by: what is wrong leads to it.
        return f'<li><a href="#{target}">{whole}</a></li>'
    return f'<li><a href="#{target}">{label[0].upper()}{label[1:]}</a>{given}</li>'


class _Fields(HTMLParser):
    """The fields of a page, what they are called, and those that something is wrong with."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.ids: set[str] = set()
        # Where what is wrong with them stands, by their names.
        self.refused: dict[str, int] = {}
        # Where the folds begin that hide something wrong.
        self.folded: set[int] = set()
        self.labels: dict[str, str] = {}
        self._line_starts = [0, *accumulate(len(line) + 1 for line in page.split("\n"))]
        # The elements that are open, each with where it begins if it is a closed fold.
        self._open: list[tuple[str, int | None]] = []
        # The label or legend that is being read: the fields that it names, and its words.
        self._named: list[str] = []
        self._words: list[str] | None = None
        # Choices that exclude each other are named as a group.
        self._legend = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self._note_id(given.get("id", ""))
        if tag in ("label", "legend"):
            self._named, self._words = [given.get("for", "")], []
        elif tag in ("input", "select", "textarea"):
            self._note_field(given)
        if tag not in _VOID:
            is_closed = tag == "details" and "open" not in given
            at = self._at() if is_closed else None
            is_beside = not _BESIDE_NAME.isdisjoint(given.get("class", "").split())
            self._open.append((_BESIDE + tag if is_beside else tag, at))

    def handle_data(self, data: str) -> None:
        if self._words is not None and not any(tag.startswith(_BESIDE) for tag, _ in self._open):
            self._words.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag in ("label", "legend") and self._words is not None:
            words = " ".join("".join(self._words).split())
            self.labels |= dict.fromkeys(self._named, words)
            self._legend = words if tag == "legend" else self._legend
            self._words = None
        # Behind the end of an element, and of what was left open in it.
        for depth in range(len(self._open) - 1, -1, -1):
            if self._open[depth][0].removeprefix(_BESIDE) == tag:
                del self._open[depth:]
                return

    def _note_id(self, name: str) -> None:
        self.ids.add(name)
        if whole := _WHOLE.fullmatch(name):
            self.refused[whole[2]] = self._at()
            self.folded |= {at for _, at in self._open if at is not None}

    def _at(self) -> int:
        """Where the tag begins that is being read."""
        row, column = self.getpos()
        return self._line_starts[row - 1] + column

    def _note_field(self, given: dict[str, str]) -> None:
        name = given.get("id", "")
        if given.get("type") == "radio":
            self.labels[name] = self._legend
        elif label := given.get("aria-label"):
            self.labels[name] = label
        elif self._words is not None:
            self._named.append(name)
