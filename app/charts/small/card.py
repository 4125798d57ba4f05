"""The picture that a messenger shows beside a shared link, as PNG: the answer, and the tests as
dots. Drawn by the library that draws photos anew, in the letters that it brings along."""

import io
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from PIL import Image, ImageDraw, ImageFont

from app.analysis.battery.battery_report import TestSummary
from app.analysis.reports.shared_report import SharedReport, SharedTest
from app.charts import theme
from app.charts.capacity_scale import capacity_range
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import Reader, joined, say

# What previews are cut to nearly everywhere (common practice): 1.91 to 1.
WIDTH, HEIGHT = 1200, 630
# Lines are drawn without soft edges, so twice as large and then reduced.
_FINER = 2
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 1130, 350, 540
_TITLE, _FIGURE, _WORDS, _SMALL = 48, 92, 40, 30
_DOT, _BAR = 7, 4
# Lines of words above what is drawn, and where nothing is.
_MOST_LINES, _MOST_ALONE = 2, 7
# The letters are those of English, with ± and °: in place of others stands what is usual where
# they cannot be written.
_PLAIN = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "“": '"', "”": '"', "„": '"', "’": "'", "ß": "ss"}
    | {"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"}
)
_UNKNOWN = "\uffff"


@dataclass(frozen=True)
class Dot:
    """A test at shares of width and height from the lower left; a bound has no bar."""

    x: float
    y: float
    half: float
    bound: bool


@dataclass(frozen=True)
class Card:
    """What stands on it; dots and line are empty where there is nothing to draw, level is where
    the rated capacity lies."""

    title: str
    figure: str
    words: tuple[str, ...]
    foot: str
    dots: tuple[Dot, ...] = ()
    line: tuple[tuple[float, float], ...] = ()
    level: float | None = None


def battery_card(report: SharedReport) -> Card:
    """The answer of a battery, with its tests where the fade is shown."""
    foot = say("{rated_ah:g} Ah rated, as of {as_of}", rated_ah=report.rated_ah, as_of=report.as_of)
    if report.fade is None:
        return Card(report.name, "", (report.newest_words,), foot)
    first, *others = report.answers
    words = [first.doubt]
    for one in others[:1]:
        words.append(joined(", ", filter(None, (joined(" ", (one.label, one.figure)), one.doubt))))
    shown = [
        test
        for test in report.tests
        if test.kind is not EvidenceKind.UNUSABLE and not test.left_out_reason
    ]
    dots, level = _dots(report, shown)
    return Card(report.name, first.figure, tuple(filter(None, words)), foot, dots, (), level)


def several_card(reports: Sequence[SharedReport]) -> Card:
    """Batteries side by side, each with its newest result."""
    words = tuple(joined(": ", (one.name, one.newest_words)) for one in reports)
    foot = say("as of {as_of}", as_of=reports[0].as_of)
    return Card(say("Batteries side by side"), "", words, foot)


def test_card(test: SharedTest, battery: SharedReport) -> Card:
    """The result of one test, with its voltage."""
    foot = say(
        "{rated_ah:g} Ah rated, tested on {day}",
        rated_ah=battery.rated_ah,
        day=test.started_at.date(),
    )
    volts = [(row.elapsed_h, row.voltage_v) for row in test.rows if row.voltage_v is not None]
    return Card(battery.name, test.headline, test.verdict_words[:1], foot, (), _shares(volts))


def card_png(card: Card, reader: Reader, *, demo: bool) -> bytes:
    """The picture for a reader."""
    image = Image.new("RGB", (WIDTH * _FINER, HEIGHT * _FINER), theme.PAPER)
    pen = ImageDraw.Draw(image)
    _write(pen, (_LEFT, 50), _title(reader.read(card.title)), _TITLE, theme.MUTED)
    figure = _plain(reader.read(card.figure))
    top = 110
    if figure:
        size = _FIGURE if len(figure) < 22 else 68
        _write(pen, (_LEFT, top), figure, size, theme.INK)
        top += 110
    for row, words in enumerate(_lines(card, reader)):
        _write(pen, (_LEFT, top + 50 * row), words, _WORDS, theme.MEASURED)
    _draw(pen, card)
    foot = _plain(reader.read(card.foot))
    said = [foot, _plain(reader.read(say("invented example")))] if demo else [foot]
    _write(pen, (_LEFT, 570), "Fadeline: " + ", ".join(said), _SMALL, theme.MUTED)
    made = io.BytesIO()
    small = image.reduce(_FINER).quantize(64, Image.Quantize.FASTOCTREE)
    small.save(made, "PNG")
    return made.getvalue()


def _dots(
    report: SharedReport, tests: Sequence[TestSummary]
) -> tuple[tuple[Dot, ...], float | None]:
    if not tests:
        return (), None
    end = report.end_of_life
    threshold_ah = None if end is None else end.threshold_ah
    low, high = capacity_range(report.tests, report.rated_ah, threshold_ah)
    first, last = tests[0].day.toordinal(), tests[-1].day.toordinal()

    def level(value: float) -> float:
        return (value - low) / (high - low)

    made = []
    for test in tests:
        bound = test.kind is EvidenceKind.AT_LEAST
        at = (test.day.toordinal() - first) / (last - first) if last > first else 0.5
        value = test.lower_ah if bound else test.capacity_ah
        made.append(Dot(at, level(value), test.expanded_ah / (high - low), bound))
    return tuple(made), level(report.rated_ah)


def _shares(points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    if len(points) < 2:
        return ()
    hours, volts = [at for at, _ in points], [value for _, value in points]
    wide, tall = max(hours) or 1.0, (max(volts) - min(volts)) or 1.0
    return tuple((at / wide, (value - min(volts)) / tall) for at, value in points)


def _draw(pen: ImageDraw.ImageDraw, card: Card) -> None:
    def place(x: float, y: float) -> tuple[float, float]:
        across, up = _LEFT + (_RIGHT - _LEFT) * x, _BOTTOM - (_BOTTOM - _TOP) * y
        return across * _FINER, up * _FINER

    if card.dots or card.line:
        pen.line([place(0, 0), place(1, 0)], theme.GRID, 2 * _FINER)
    if card.level is not None:
        pen.line([place(0, card.level), place(1, card.level)], theme.EXPECTED, 2 * _FINER)
    if card.line:
        pen.line([place(*point) for point in card.line], theme.MEASURED, 5 * _FINER, "curve")
    half = _DOT * _FINER
    for dot in card.dots:
        x, y = place(dot.x, dot.y)
        if dot.bound:
            corners = [(x - half, y), (x + half, y), (x, y - 2 * half)]
            pen.polygon(corners, theme.PAPER, theme.BOUND, _BAR * _FINER)
            continue
        ends = [place(dot.x, dot.y + dot.half), place(dot.x, dot.y - dot.half)]
        pen.line(ends, theme.MEASURED, _BAR * _FINER)
        pen.ellipse((x - half, y - half, x + half, y + half), theme.MEASURED)


def _lines(card: Card, reader: Reader) -> list[str]:
    """Its words in lines that fit. What has no room is left out whole: half a claim is none."""
    most = _MOST_LINES if card.dots or card.line else _MOST_ALONE
    made: list[str] = []
    for said in card.words:
        lines = _wrapped(_plain(reader.read(said)).split())
        if len(made) + len(lines) <= most:
            made += lines
    return made


def _wrapped(words: Sequence[str]) -> list[str]:
    made = [""]
    for word in words:
        longer = f"{made[-1]} {word}".strip()
        if _font(_WORDS).getlength(longer) > (_RIGHT - _LEFT) * _FINER:
            made.append(word)
        else:
            made[-1] = longer
    return made


def _write(pen: ImageDraw.ImageDraw, at: tuple[int, int], text: str, size: int, color: str) -> None:
    pen.text((at[0] * _FINER, at[1] * _FINER), text, color, _font(size))


def _title(name: str) -> str:
    """A name in letters that the font has, as much as there is room for; else whose card it is."""
    plain = _plain(name)
    if not all(_drawable(letter) for letter in plain):
        return "Fadeline"
    shown = plain
    while _font(_TITLE).getlength(shown) > (_RIGHT - _LEFT) * _FINER:
        plain = plain[:-1]
        shown = f"{plain.rstrip()}..."
    return shown


def _plain(text: str) -> str:
    """Text in the letters that there are, as far as it can be: é becomes e."""
    parts = unicodedata.normalize("NFKD", unicodedata.normalize("NFC", text).translate(_PLAIN))
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


def _drawable(letter: str) -> bool:
    return letter == " " or bytes(_font(_SMALL).getmask(letter)) != _missing()


@cache
def _missing() -> bytes:
    return bytes(_font(_SMALL).getmask(_UNKNOWN))


@cache
def _font(size: int) -> ImageFont.FreeTypeFont:
    font = ImageFont.load_default(size * _FINER)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font
