"""Lays out our own styles and scripts, one declaration a line; --check names those that are not so:
python -m tests.tools.format_static [--check]

Lines of a script are broken by hand: what breaks them by width puts the break in odd places.
"""

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

import cssbeautifier
import jsbeautifier

from app.settings import STATIC

MAX_LINE = 200
# Made by a tool, nobody's to read.
NOT_OURS = "chart-library.js"


def own_files() -> list[Path]:
    found = [*STATIC.glob("*.css"), *STATIC.glob("*.js")]
    return sorted(path for path in found if path.name != NOT_OURS)


def formatted(text: str, suffix: str) -> str:
    """The text laid out anew. Nothing but white space may change."""
    made = _styles(text) if suffix == ".css" else _scripts(text)
    if "".join(made.split()) != "".join(text.split()):
        raise ValueError("the formatter changed more than white space")
    return made


def _styles(text: str) -> str:
    options = cssbeautifier.default_options()
    options.indent_size = 2
    options.end_with_newline = True
    options.selector_separator_newline = False
    options.newline_between_rules = False
    options.space_around_combinator = True
    options.preserve_newlines = True
    options.max_preserve_newlines = 2
    return cssbeautifier.beautify(text, options)


def _scripts(text: str) -> str:
    options = jsbeautifier.default_options()
    options.indent_size = 2
    options.end_with_newline = True
    options.brace_style = "collapse,preserve-inline"
    options.max_preserve_newlines = 2
    return jsbeautifier.beautify(text, options)


def unformatted(paths: Iterable[Path]) -> dict[Path, str]:
    """What each file that is not laid out should be."""
    found = {}
    for path in paths:
        text = path.read_text("utf-8")
        wanted = formatted(text, path.suffix)
        if wanted != text:
            found[path] = wanted
    return found


def long_lines(path: Path) -> list[int]:
    """The numbers of lines that are too long to read."""
    lines = path.read_text("utf-8").splitlines()
    return [number for number, line in enumerate(lines, 1) if len(line) > MAX_LINE]


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="change nothing, name what would be")
    check = parser.parse_args(arguments).check
    found = unformatted(own_files())
    for path, wanted in found.items():
        print("would lay out" if check else "laid out", path.name)
        if not check:
            path.write_text(wanted, "utf-8")
    return 1 if check and found else 0


if __name__ == "__main__":
    sys.exit(main())
