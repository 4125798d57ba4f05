"""Elements of a picture as SVG 2 (W3C), without style sheets, scripts or names to clash."""

import re
from xml.etree import ElementTree

from app.charts import theme
from app.domain.legible import legible

# How wide a letter is on average, as a share of its size. The font is the reader's own.
LETTER = 0.56
# The name of the language (W3C), which nothing is loaded from.
_SVG = "http://www.w3.org/2000/svg"
TEXT = 13.0
_RGBA = re.compile(r"rgba\((\d+), (\d+), (\d+), ([\d.]+)\)")
_DASHES = {"dot": "1.5 3.5", "dash": "7 4", "dashdot": "8 3 1.5 3"} | {
    "longdash": "12 4",
    "longdashdot": "12 3 1.5 3",
}

Element = ElementTree.Element


def add(parent: Element, tag: str, text: str = "", /, **attributes: str | float) -> Element:
    """Put an element into another; an underscore in a name stands for a hyphen."""
    made = ElementTree.SubElement(parent, tag, _written(attributes))
    if text:
        made.text = text
    return made


def picture(
    width: float | None,
    height: float,
    title: str,
    description: str,
    letter: float,
    *,
    alone: bool = False,
) -> Element:
    """The outermost element; text has the size letter.

    With a width it grows to the room it is given, letters too; without one its letters keep their
    size, and what it holds stands at shares of the width. alone says that it is to be a file,
    which needs its own background and its language named.
    """
    size: dict[str, str | float] = {"width": "100%", "height": height}
    if width is not None:
        size = {"viewBox": f"0 0 {brief(width)} {brief(height)}"}
    look: dict[str, str | float] = {"font_family": theme.FONT, "font_size": letter}
    made = Element("svg", _written({**size, "role": "img", "fill": theme.INK, **look}))
    add(made, "title", title)
    if description:
        add(made, "desc", description)
    if alone:
        made.set("xmlns", _SVG)
        add(made, "rect", width="100%", height="100%", fill=theme.PAPER)
    return made


def text_of(element: Element) -> str:
    """The picture as text to stand in a page."""
    # A text has no bracket of its own: it would be escaped.
    return legible(ElementTree.tostring(element, encoding="unicode").replace(" />", "/>"))


def paint(color: str, name: str = "fill") -> dict[str, str]:
    """A colour as attributes; transparency apart, which not every reader takes in a colour."""
    match = _RGBA.fullmatch(color)
    if match is None:
        return {name: color}
    red, green, blue, opacity = match.groups()
    return {name: f"rgb({red},{green},{blue})", f"{name}_opacity": opacity}


def stroke(line: dict[str, object]) -> dict[str, str]:
    """A line of a figure as attributes."""
    width = line.get("width", 2)
    made = {**paint(str(line["color"]), "stroke"), "stroke_width": str(width)}
    dash = _DASHES.get(str(line.get("dash", "")))
    return made if dash is None else {**made, "stroke_dasharray": dash}


def brief(value: float) -> str:
    """A coordinate, as short as a tenth of a unit allows."""
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def percent(share: float) -> str:
    """A share of the width as a coordinate."""
    return f"{100 * share:.2f}".rstrip("0").rstrip(".") + "%"


def text_width(text: str, size: float) -> float:
    """About how wide a text is, in the unit of its size."""
    return len(text) * LETTER * size


def _written(attributes: dict[str, str | float]) -> dict[str, str]:
    return {
        name.replace("_", "-"): value if isinstance(value, str) else brief(value)
        for name, value in attributes.items()
    }
