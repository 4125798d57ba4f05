"""One panel to draw on, in a picture of its own width or in one that takes any width.

Where a picture takes any width, heights are pixels and places along the width are shares of it:
lines and bands are stretched without their strokes, and points, symbols and letters keep their
shape, because each stands at its share in percent.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from app.charts.svg_element import Element, add, brief, percent

# Units along a panel that is stretched.
SPAN = 1000.0
Shape = Callable[[float, float], str]


@dataclass(frozen=True)
class Surface:
    """A panel: marks holds what keeps its shape and lines what is stretched; wide is in units."""

    marks: Element
    lines: Element
    wide: float
    fluid: bool = False

    def across(self, x: float) -> str:
        """A place along the panel as an attribute."""
        return percent(x / self.wide) if self.fluid else brief(x)

    def path(self, d: str, **look: str | float) -> None:
        """Draw lines or areas."""
        if self.fluid and "stroke" in look:
            look["vector_effect"] = "non-scaling-stroke"
        if self.fluid and look.get("fill") == "none":
            # What holds them says so for all.
            del look["fill"]
        add(self.lines, "path", d=d, **look)

    def cell(self, x: float, y: float, wide: float, tall: float, **look: str | float) -> None:
        """Draw a rectangle."""
        place = {"x": self.across(x), "width": self.across(wide), "y": brief(y)}
        add(self.marks, "rect", height=tall, **place, **look)

    def circles(
        self, places: Sequence[tuple[float, float]], radius: float, **look: str | float
    ) -> None:
        """Draw a circle at each place."""
        alike = add(self.marks, "g", **look)
        for x, y in places:
            add(alike, "circle", cx=self.across(x), cy=y, r=radius)

    def symbols(
        self, places: Iterable[tuple[float, float]], shape: Shape, **look: str | float
    ) -> None:
        """Draw a shape at each place."""
        if not self.fluid:
            add(self.marks, "path", d="".join(shape(x, y) for x, y in places), **look)
            return
        alike = add(self.marks, "g", **look)
        for x, y in places:
            at = add(alike, "svg", x=self.across(x), y=y, overflow="visible")
            add(at, "path", d=shape(0.0, 0.0))

    def text(
        self, text: str, x: float, y: float, shift: float = 0.0, **look: str | float
    ) -> Element:
        """Write at a place; shift moves it aside by so many pixels."""
        if not self.fluid:
            x, shift = x + shift, 0.0
        beside: dict[str, str | float] = {"dx": shift} if shift else {}
        return add(self.marks, "text", text, x=self.across(x), y=y, **beside, **look)


def surface(root: Element, left: float, top: float, wide: float | None, tall: float) -> Surface:
    """A panel of a picture, which cuts off what runs out of it; without a width it takes any."""
    place: dict[str, str | float] = {"x": left, "y": top, "height": tall, "overflow": "hidden"}
    if wide is not None:
        inner = add(root, "svg", width=wide, **place)
        return Surface(inner, inner, wide)
    inner = add(root, "svg", width="100%", **place)
    box: dict[str, str | float] = {"viewBox": f"0 0 {brief(SPAN)} {brief(tall)}"}
    box |= {"preserveAspectRatio": "none", "fill": "none"}
    lines = add(inner, "svg", width="100%", height=tall, **box)
    return Surface(inner, lines, SPAN, fluid=True)
