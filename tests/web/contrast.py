"""Contrast after WCAG 2.2 (W3C), and the looks of static/tokens.css."""

import re

from app.settings import STATIC

LOOKS = ("light", "dark", "sunlight")
_NUMBER = re.compile(r"[\d.]+")


def channels(color: str) -> tuple[float, float, float, float]:
    """Red, green and blue from 0 to 255, and how opaque."""
    if color.startswith("#"):
        return (*(float(int(color[i : i + 2], 16)) for i in (1, 3, 5)), 1.0)
    red, green, blue, *opaque = (float(part) for part in _NUMBER.findall(color))
    return red, green, blue, opaque[0] if opaque else 1.0


def luminance(rgb: tuple[float, ...]) -> float:
    """Relative luminance, https://www.w3.org/TR/WCAG22/#dfn-relative-luminance"""
    parts = [part / 255 for part in rgb[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(color: str, ground: str) -> float:
    """Contrast ratio, https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio; what is not opaque is
    mixed with its ground first."""
    *upper, opaque = channels(color)
    lower = channels(ground)[:3]
    mixed = tuple(opaque * a + (1 - opaque) * b for a, b in zip(upper, lower, strict=True))
    light, dark = sorted((luminance(mixed), luminance(lower)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def blocks() -> dict[str, dict[str, str]]:
    """The tokens of each block of the style sheet by its selector, the last of equal ones."""
    text = re.sub(r"/\*.*?\*/", "", (STATIC / "tokens.css").read_text(), flags=re.DOTALL)
    found: dict[str, dict[str, str]] = {}
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
        tokens = dict(re.findall(r"(--[\w-]+): ([^;]+);", body))
        found.setdefault(selector.strip(), {}).update(tokens)
    return found


def tokens(look: str) -> dict[str, str]:
    """Every token as a look has it."""
    found = blocks()
    made = found[":root, .sheet"] | found[":root"]
    if look == "dark":
        return made | found[":root[data-look=dark]"]
    if look == "sunlight":
        return made | found[":root[data-look=sunlight], :root[data-look=sunlight] .sheet"]
    return made
