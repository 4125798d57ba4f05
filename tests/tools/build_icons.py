"""Draws the icons for a home screen from the shapes of static/icon.svg:
python -m tests.tools.build_icons"""

import re
from xml.etree import ElementTree

from PIL import Image, ImageDraw

from app.settings import STATIC

# Name, pixels, and whether the picture reaches the edge, because the device cuts its own shape
# out of it (a circle whose radius is 40 % of the width is kept: W3C, Web Application Manifest,
# maskable icons).
ICONS = (
    ("icon-180.png", 180, True),
    ("icon-192.png", 192, False),
    ("icon-512.png", 512, False),
    ("icon-whole-512.png", 512, True),
)
# Drawn larger and made smaller, which smooths the edges.
_FINER = 4
_KEPT = 0.72


def icon(pixels: int, whole: bool) -> Image.Image:
    """The icon as a picture."""
    root = ElementTree.parse(STATIC / "icon.svg").getroot()
    side = float(root.attrib["viewBox"].split()[2])
    full = pixels * _FINER
    ground, *shapes = list(root)
    paint = (
        Image.new("RGB", (full, full), ground.attrib["fill"]) if whole else _rounded(full, ground)
    )
    draw = ImageDraw.Draw(paint)
    scale = full / side * (_KEPT if whole else 1)
    shift = (full - scale * side) / 2
    for shape in shapes:
        numbers = [float(one) for one in re.findall(r"[\d.]+", shape.attrib["d"])]
        points = [
            (shift + scale * x, shift + scale * y)
            for x, y in zip(numbers[::2], numbers[1::2], strict=True)
        ]
        if "fill" in shape.attrib:
            draw.polygon(points, fill=shape.attrib["fill"])
        else:
            width = round(float(shape.attrib["stroke-width"]) * scale)
            draw.line(points, fill=shape.attrib["stroke"], width=width)
    return paint.resize((pixels, pixels), Image.Resampling.LANCZOS)


def _rounded(full: int, ground: ElementTree.Element) -> Image.Image:
    paint = Image.new("RGBA", (full, full), (0, 0, 0, 0))
    radius = full * float(ground.attrib["rx"]) / float(ground.attrib["width"])
    ImageDraw.Draw(paint).rounded_rectangle(
        (0, 0, full - 1, full - 1), radius, fill=ground.attrib["fill"]
    )
    return paint


if __name__ == "__main__":
    for name, pixels, whole in ICONS:
        made = icon(pixels, whole).quantize(32)
        made.save(STATIC / name, optimize=True)
        print(name, (STATIC / name).stat().st_size, "bytes")
