"""The texts of a template: found as they stand, and put into another language.

A text is what stands between two elements that make a block of their own, or two statements of the
template, with the inline elements and the expressions within it:

    <p>For <b>{{ name }}</b>: {{ ah | number }} Ah{% if old %}, once more{% endif %}</p>

holds “For <b>{name}</b>: {ah} Ah” and “, once more”. So templates stay plain English, and no text
of them can be forgotten. What stands in quotes within an expression becomes one by say(…).
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum, auto

_INLINE = {"a", "abbr", "b", "cite", "code", "em", "i", "kbd", "q", "small", "span", "strong"}
_INLINE |= {"sub", "sup", "time", "var"}
_SPOKEN = re.compile(r"\s(?:aria-label|alt|title|placeholder|data-head|data-say-[a-z-]+)=\"")
_JINJA = re.compile(r"\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}", re.DOTALL)
_TAG_NAME = re.compile(r"</?([a-zA-Z][a-zA-Z0-9]*)")
_LETTERS = re.compile(r"[^\W\d_]+")
_SCRIPTED = re.compile(r"\{\w+\}")
_PLACE = re.compile(r"\{(\w+)\}|<(/?)(\w+)>")
# Signs of units, and our own name, read the same in every language.
_SIGNS = {"A", "Ah", "V", "W", "Wh", "mV", "C", "F", "K", "h", "s", "min", "MB", "Fadeline", "nbsp"}
_SIGNS |= {"N", "U", "k", "u", "x", "y", "z", "p"}

_CALLED = re.compile(r"(\w)\([^()]*\)")
# Words of an expression that do not tell what its value is.
_NO_NAMES = {"if", "else", "is", "in", "not", "none", "and", "or", "say", "astimezone", "strftime"}


class _Is(Enum):
    TEXT = auto()
    EXPRESSION = auto()
    INLINE = auto()
    BREAK = auto()


@dataclass(frozen=True)
class _Token:
    kind: _Is
    source: str
    name: str = ""
    closes: bool = False


@dataclass(frozen=True)
class Text:
    """A text with its places by name, and the source that stands in each place."""

    message: str
    places: dict[str, str]

    def filled(self, message: str) -> str:
        """The source of the same text in other words. Raises ValueError for an unknown place."""

        def source(found: re.Match[str]) -> str:
            place = found.group(0)
            if place not in self.places:
                raise ValueError(f"{place} stands in “{message}” and not in “{self.message}”")
            return self.places[place]

        return _PLACE.sub(source, message)


def texts_of(source: str) -> list[str]:
    """Every text of a template, in the order in which they stand."""
    found: list[str] = []

    def keep(message: str) -> str:
        found.append(message)
        return message

    in_other_words(source, keep)
    return found


def in_other_words(source: str, say: Callable[[str], str]) -> str:
    """The template with each of its texts as `say` has it; all else stays as it is."""
    made: list[str] = []
    run: list[_Token] = []
    for token in _tokens(source):
        if token.kind is _Is.BREAK:
            made += [_run(run, say), _spoken(token.source, say)]
            run = []
        else:
            run.append(token)
    return "".join([*made, _run(run, say)])


def _run(run: list[_Token], say: Callable[[str], str]) -> str:
    """Text and inline elements between two breaks. An element that is not closed is a break."""
    partner = _partners(run)
    made: list[str] = []
    start = 0
    for at, token in enumerate(run):
        if token.kind is _Is.INLINE and at not in partner:
            made += [_piece(run[start:at], say), _spoken(token.source, say)]
            start = at + 1
    return "".join([*made, _piece(run[start:], say)])


def _partners(run: list[_Token]) -> dict[int, int]:
    """The pairs of tags that open and close an element within the run."""
    partner: dict[int, int] = {}
    opened: list[int] = []
    for at, token in enumerate(run):
        if token.kind is not _Is.INLINE:
            continue
        if not token.closes:
            opened.append(at)
        elif opened and run[opened[-1]].name == token.name:
            first = opened.pop()
            partner |= {first: at, at: first}
        else:
            opened.clear()
    return partner


def _piece(run: list[_Token], say: Callable[[str], str]) -> str:
    """One text, without what surrounds it on both sides."""
    low, high = 0, len(run)
    partner = _partners(run)
    while low < high:
        if _blank(run[low]):
            low += 1
        elif _blank(run[high - 1]):
            high -= 1
        elif run[low].kind is _Is.INLINE and partner.get(low) == high - 1:
            low, high = low + 1, high - 1
        else:
            break
    before = "".join(_spoken(token.source, say) for token in run[:low])
    after = "".join(_spoken(token.source, say) for token in run[high:])
    return before + _said(run[low:high], say) + after


def _blank(token: _Token) -> bool:
    return token.kind is _Is.TEXT and not token.source.strip()


def _said(run: list[_Token], say: Callable[[str], str]) -> str:
    whole = "".join(token.source for token in run)
    if not _has_words(token.source for token in run if token.kind is _Is.TEXT):
        return "".join(_spoken(token.source, say) for token in run)
    text = _text(run, say)
    lead = whole[: len(whole) - len(whole.lstrip())]
    tail = whole[len(whole.rstrip()) :]
    return lead + text.filled(say(text.message)) + tail


def _has_words(texts: Iterator[str]) -> bool:
    """Whether there is anything to translate. A macro that writes attributes is no text."""
    found = list(texts)
    if any('="' in text for text in found):
        return False
    words = {word for text in found for word in _LETTERS.findall(text)}
    return bool(words - _SIGNS)


def _text(run: list[_Token], say: Callable[[str], str]) -> Text:
    places: dict[str, str] = {}
    parts: list[str] = []
    opened: list[str] = []
    for token in run:
        if token.kind is _Is.TEXT:
            # A {place} that a script fills stays what it is.
            places |= {place: place for place in _SCRIPTED.findall(token.source)}
            parts.append(token.source)
            continue
        if token.kind is _Is.EXPRESSION:
            place = _free(places, token.name, "{{{}}}")
        elif token.closes:
            place = f"</{opened.pop()}>"
        else:
            place = _free(places, token.name, "<{}>")
            opened.append(place[1:-1])
        places[place] = _spoken(token.source, say)
        parts.append(place)
    return Text(" ".join("".join(parts).split()), places)


def _free(places: dict[str, str], name: str, form: str) -> str:
    """The place's name, with a number behind it where it is taken."""
    count, place = 1, form.format(name)
    while place in places:
        count += 1
        place = form.format(f"{name}{count}")
    return place


def _spoken(source: str, say: Callable[[str], str]) -> str:
    """The texts within the attributes of a tag that people hear or see."""
    if not source.startswith("<"):
        return source

    made, at = [], 0
    while opened := _SPOKEN.search(source, at):
        end = _end_of_quotes(source, opened.end())
        made += [source[at : opened.end()], _said_in(source[opened.end() : end], say)]
        at = end
    return "".join([*made, source[at:]])


def _said_in(value: str, say: Callable[[str], str]) -> str:
    """The text of an attribute, which holds no elements."""
    made: list[str] = []
    run: list[_Token] = []
    for token in _jinja_tokens(value):
        if token.kind is _Is.BREAK:
            made += [_piece(run, say), token.source]
            run = []
        else:
            run.append(token)
    return "".join([*made, _piece(run, say)])


def _end_of_quotes(source: str, start: int) -> int:
    """Where the value of an attribute ends, whose expressions may hold quotes."""
    at = start
    while at < len(source) and source[at] != '"':
        jinja = _JINJA.match(source, at)
        at = jinja.end() if jinja else at + 1
    return at


def _tokens(source: str) -> Iterator[_Token]:
    at = 0
    while at < len(source):
        opened = re.compile(r"<(?=[a-zA-Z/!])").search(source, at)
        jinja = _JINJA.search(source, at)
        if jinja and (opened is None or jinja.start() < opened.start()):
            end = jinja.end()
            yield from _jinja_tokens(source[at:end])
        elif opened:
            end = _end_of_tag(source, opened.start())
            yield from _jinja_tokens(source[at : opened.start()])
            yield _tag(source[opened.start() : end])
        else:
            end = len(source)
            yield from _jinja_tokens(source[at:])
        at = end


def _end_of_tag(source: str, start: int) -> int:
    """Behind the > of a tag, whose attributes may hold expressions and quotes."""
    at, quoted = start, False
    while at < len(source):
        jinja = _JINJA.match(source, at)
        if jinja:
            at = jinja.end()
            continue
        if source[at] == '"':
            quoted = not quoted
        elif source[at] == ">" and not quoted:
            return at + 1
        at += 1
    return at


def _tag(source: str) -> _Token:
    named = _TAG_NAME.match(source)
    name = named.group(1).lower() if named else ""
    kind = _Is.INLINE if name in _INLINE else _Is.BREAK
    return _Token(kind, source, name, source.startswith("</"))


def _jinja_tokens(source: str) -> Iterator[_Token]:
    at = 0
    for found in _JINJA.finditer(source):
        if found.start() > at:
            yield _Token(_Is.TEXT, source[at : found.start()])
        if found.group(0).startswith("{{"):
            yield _Token(_Is.EXPRESSION, found.group(0), _name_of(found.group(0)))
        else:
            yield _Token(_Is.BREAK, found.group(0))
        at = found.end()
    if at < len(source):
        yield _Token(_Is.TEXT, source[at:])


def _name_of(expression: str) -> str:
    """What a translator sees in the place: the last name of the value, or what a call is about."""
    value, _, filters = expression.strip("{}- ").partition("|")
    about = re.match(r"(?!say\()\w+\(\s*[\"'](\w+)[\"']", value)
    if about:
        return about.group(1)
    value = re.sub(r"\"[^\"]*\"|'[^']*'", "", value)
    while (without := _CALLED.sub(r"\1", value)) != value:
        value = without
    # "%.0f" | format(hours): the value stands behind the pattern.
    formatted = re.findall(r"format\((.*?)[)*/]", filters)
    names = _names(value) or _names("".join(formatted))
    return names[-1] if names else "value"


def _names(expression: str) -> list[str]:
    return [name for name in re.findall(r"[a-zA-Z_]\w*", expression) if name not in _NO_NAMES]
