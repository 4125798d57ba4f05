"""Of our style sheets only what one page uses, for a file that carries its styles along.

It reads the sheets that tests/tools/format_static lays out, and no other: their strings and
addresses hold no braces.
"""

import re
from collections.abc import Iterable, Iterator
from functools import cache

from app.settings import STATIC

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_SPACE = re.compile(r"\s+")
_TEXT = re.compile(r"""("[^"]*")""")
# Beside these no space is needed, in a selector and in what is declared.
_TIGHT, _DECLARED = re.compile(r"\s*([,>])\s*"), re.compile(r"\s*([;,])\s*|(?<=:)\s+")
# What a selector asks for whatever the page holds: states, and what it must not be.
_CONDITION, _STATE = re.compile(r":[\w-]+\([^()]*\)"), re.compile(r"::?[\w-]+")
_NAME = re.compile(r"[.#\w-]+")
_ATTRIBUTE = re.compile(r"\[([\w-]+)[^\]]*\]")
_TAG = re.compile(r"<([a-z][\w-]*)([^<>]*)>")
_GIVEN = re.compile(r'([a-z][\w-]*)(?:="([^"]*)")?')
# Rules within these are chosen one by one; other at-rules stay whole.
_HOLDS_RULES = ("@container", "@media", "@supports")

Rule = tuple[str, str]


def used_styles(names: tuple[str, ...], page: str) -> str:
    """The rules of these sheets, in their order, that something on the page could match."""
    found = _found(page)
    return "\n".join(_used(_rules(_sheet(names)), found))


@cache
def _sheet(names: tuple[str, ...]) -> str:
    text = "".join((STATIC / name).read_text() for name in names)
    return _SPACE.sub(" ", _COMMENT.sub("", text)).strip()


def _rules(text: str) -> Iterator[Rule]:
    """Each rule as what stands before its braces and what stands within."""
    at = 0
    while (start := text.find("{", at)) >= 0:
        end, depth = start + 1, 1
        while depth:
            depth += {"{": 1, "}": -1}.get(text[end], 0)
            end += 1
        yield text[at:start].strip(), text[start + 1 : end - 1].strip()
        at = end


def _used(rules: Iterable[Rule], found: frozenset[str]) -> Iterator[str]:
    for before, within in rules:
        if before.startswith(_HOLDS_RULES):
            inner = "".join(_used(_rules(within), found))
            if inner:
                yield f"{before}{{{inner}}}"
            continue
        if not before.startswith("@"):
            kept = (one for one in _selectors(before) if _can_match(one, found))
            before = ",".join(_tight(one, _TIGHT) for one in kept)
        if before and within:
            yield f"{before}{{{_tight(within, _DECLARED).removesuffix(';')}}}"


def _selectors(before: str) -> list[str]:
    """The selectors of a list; a comma within brackets or quotes parts none."""
    parts, depth, quoted = [""], 0, False
    for letter in before:
        quoted ^= letter == '"'
        depth += 0 if quoted else {"(": 1, ")": -1}.get(letter, 0)
        if letter == "," and not depth and not quoted:
            parts.append("")
        else:
            parts[-1] += letter
    return [part.strip() for part in parts]


def _can_match(selector: str, found: frozenset[str]) -> bool:
    """Whether each element, class, id and attribute that it names is on the page."""
    plain, longer = selector, ""
    while plain != longer:
        # The innermost first.
        plain, longer = _CONDITION.sub("", plain), plain
    plain = _STATE.sub("", plain)
    attributes = {f"[{name}]" for name in _ATTRIBUTE.findall(plain)}
    names = set(_NAME.findall(re.sub(r"([.#])", r" \1", _ATTRIBUTE.sub("", plain))))
    return attributes | names <= found


def _tight(text: str, spaced: re.Pattern[str]) -> str:
    """The text without needless spaces; what stands in quotes stays as it is."""
    parts = _TEXT.split(text)
    parts[::2] = [spaced.sub(lambda found: found[1] or "", part) for part in parts[::2]]
    return "".join(parts)


def _found(page: str) -> frozenset[str]:
    """The elements, .classes, #ids and [attributes] of a page that the templates wrote."""
    # Whoever reads the page opens what is folded.
    found = {"[open]"}
    for tag, given in _TAG.findall(page):
        found.add(tag)
        for name, value in _GIVEN.findall(given):
            found.add(f"[{name}]")
            if name == "class":
                found.update(f".{one}" for one in value.split())
            if name == "id":
                found.add(f"#{value}")
    return frozenset(found)
