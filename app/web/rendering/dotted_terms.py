"""Terms of the trade in the sentences of a page: the first time that each stands in one, it becomes
a button that explains it.

It is done with the finished page, so that the sentences of the analysis, which know of no page, are
explained like those of the templates, and those in German like those in English.
"""

import re
from collections.abc import Callable, Iterator
from functools import cache

from app.domain.glossary import WORDS
from app.domain.i18n.message import Reader, say

# A comment, or a tag with its attributes: it ends at the first bracket outside of quotes.
_TAG = re.compile(
    r"""<!--.*?-->|<(/?)([a-z][a-z0-9]*)((?:[^>"']++|"[^"]*+"|'[^']*+')*+)>""", re.DOTALL
)
# Where sentences stand.
_SENTENCES = {"p", "li", "dt", "dd", "figcaption"}
# What is a name or a thing to touch, figures, and what others wrote.
_PASSED = {
    *("a", "button", "summary", "label", "legend", "select", "textarea", "option", "caption"),
    *("h1", "h2", "h3", "h4", "table", "svg", "script", "style", "code", "pre"),
}
# Figures read as they are, what speaks by itself, paper, and boxes that lead on as a whole.
_PASSED_MARKS = re.compile(
    r"\b(?:role=\"(?:alert|status)\"|aria-live|data-told|data-undotted|popover|"
    r"class=\"(?:[^\"]* )?(?:headline|verdict|notes|whole|kind|sheet)[ \"])"
)
_HINT = re.compile(r"\bclass=\"(?:[^\"]* )?hint[ \"]")
_VOID = {"br", "hr", "img", "input", "meta", "link", "wbr", "source", "col"}

# The button of a term, by its key and as it stands there, and what it opens.
Shown = Callable[[str, str], str]
Told = Callable[[str], str]


class DottedTerms:
    """What the filter `dotted` does for one reader."""

    def __init__(self, reader: Reader) -> None:
        said = [
            (form, word.key) for word in WORDS for form in reader.read(say(word.said)).split("|")
        ]
        self._key_of = {form.casefold(): key for form, key in said}
        longest_first = sorted(self._key_of, key=len, reverse=True)
        self._term = re.compile(
            rf"(?<![\w-])({'|'.join(map(re.escape, longest_first))})(?![\w-])([.,:;?!)“”]*)",
            re.IGNORECASE,
        )

    def __call__(self, page: str, shown: Shown, told: Told, for_owner: bool) -> str:
        """The page with its terms as buttons (`shown`), and what they open (`told`) at its end.

        What goes to others stays as it is.
        """
        if not for_owner:
            return page
        explained = set(re.findall(r' id="word-([a-z0-9_]+)"', page))
        made: list[str] = []
        keys: list[str] = []
        done = 0
        for begin, end in _sentences(page):
            for found in self._term.finditer(page, begin, end):
                key = self._key_of[found[1].casefold()]
                if key in explained:
                    continue
                explained.add(key)
                keys.append(key)
                term = str(shown(key, found[1]))
                if found[2]:
                    # A line may end behind a button: not before the stop that belongs to it.
                    term = f'<span class="unbroken">{term}{found[2]}</span>'
                made += (page[done : found.start()], term)
                done = found.end()
        return "".join((*made, page[done:], *(str(told(key)) for key in keys)))


def _sentences(page: str) -> Iterator[tuple[int, int]]:
    """From where to where the texts of sentences stand, between one tag and the next."""
    # The elements that are open, each with whether it holds sentences.
    inside: list[tuple[str, bool]] = [("", False)]
    at = 0
    while (tag := _TAG.search(page, at)) is not None:
        if inside[-1][1] and tag.start() > at:
            yield at, tag.start()
        at = tag.end()
        closes, name, attributes = tag.groups()
        if name is None or name in _VOID or attributes.endswith("/"):
            continue
        if closes:
            _leave(inside, name)
        elif name in _PASSED or (attributes and _PASSED_MARKS.search(attributes)):
            at = _behind(page, name, at)
        else:
            hint = bool(attributes and _HINT.search(attributes))
            inside.append((name, inside[-1][1] or name in _SENTENCES or hint))


@cache
def _tags_named(name: str) -> re.Pattern[str]:
    return re.compile(rf"<(/?){name}\b")


def _behind(page: str, name: str, at: int) -> int:
    """Where an element ends whose content begins there, others of its name in it passed."""
    depth = 1
    for tag in _tags_named(name).finditer(page, at):
        depth += -1 if tag[1] else 1
        if not depth:
            return tag.end()
    return len(page)


def _leave(inside: list[tuple[str, bool]], name: str) -> None:
    """Behind the end of an element, and of what was left open in it."""
    for depth in range(len(inside) - 1, 0, -1):
        if inside[depth][0] == name:
            del inside[depth:]
            return
