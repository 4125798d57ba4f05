"""What the command line says, without anything that would command the terminal."""

import logging
import re

import typer

# Control characters but for tab and line feed, directions of writing, and what is no text at all
# (bytes of a path that are not UTF-8). A name in a file may hold any of them.
_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


def printable(text: str) -> str:
    """The text with whatever a terminal could obey written out, as JSON writes it."""
    return _UNPRINTABLE.sub(lambda found: f"\\u{ord(found[0]):04x}", text)


def echo(text: str, *, err: bool = False) -> None:
    """Print a line to standard output, or to standard error."""
    typer.echo(printable(text), err=err)


class PrintableFormatter(logging.Formatter):
    """Writes log records that no terminal obeys."""

    def format(self, record: logging.LogRecord) -> str:
        return printable(super().format(record))
