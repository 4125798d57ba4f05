"""A chart as a page carries it: the figure, one sentence for whoever cannot see it, its numbers."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from app.charts.data_table import DataTable, numbers_of
from app.charts.localized_figure import read_figure
from app.charts.svg_figure import figure_svg
from app.charts.theme import Figure
from app.domain.i18n.message import ENGLISH, Reader, joined, transformed
from app.domain.i18n.message_as_data import kept_by_name

# Units across a picture that is a file, in which letters are 13 high.
WIDE = 1040.0


class _OnPage(NamedTuple):
    """What a page shows of a figure."""

    svg: str
    numbers: DataTable
    zooms: bool


@dataclass(frozen=True)
class Chart:
    """A figure as plain data with what stands around it.

    name is unique on its page and stands in addresses; title says what is drawn, of what and in
    which unit; summary is one sentence that replaces the picture for whoever cannot see it; caption
    is one line below it, which says what its marks mean, and note says more to whoever asks. reader
    is whoever looks at it, and draw makes the figure for them: names in it stand where they have
    room in the reader's language.
    """

    name: str
    title: str
    summary: str
    draw: Callable[[Reader], Figure]
    caption: str = ""
    note: str = ""
    reader: Reader = ENGLISH

    @property
    def figure(self) -> Figure:
        """Plain data with messages in it."""
        return self.draw(self.reader)

    @property
    def drawn(self) -> Figure:
        """The figure as its reader reads it, and as a script draws it: plain data for JSON."""
        return read_figure(self.figure, self.reader)

    @property
    def zooms(self) -> bool:
        """Whether one may look at a part of it."""
        return self._on_page.zooms

    @property
    def page_svg(self) -> str:
        """The picture as it stands on a page, in every width. The page says the summary itself."""
        return self._on_page.svg

    @property
    def file_svg(self) -> str:
        """The picture as a file of its own."""
        said = (self.title, self.summary)
        return figure_svg(self.drawn, *said, WIDE, self.reader, alone=True)

    @cached_property
    def _on_page(self) -> "_OnPage":
        # A chart is kept as long as its records stay the same: so much of it, and not the figure,
        # which takes most of the memory.
        drawn = self.drawn
        zooms = drawn["layout"]["xaxis"]["fixedrange"] is False
        svg = figure_svg(drawn, self.title, "", reader=self.reader)
        return _OnPage(svg, numbers_of(drawn, self.reader), zooms)

    @property
    def numbers(self) -> DataTable:
        """All numbers that the picture shows."""
        return self._on_page.numbers


def sentence(*parts: str) -> str:
    """Findings as one sentence, each without its own full stop."""
    clean = [transformed(part, _without_full_stop) for part in parts if part.strip()]
    return joined("", (joined("; ", clean), "."))


@kept_by_name
def _without_full_stop(said: str) -> str:
    return said.strip().rstrip(".")
