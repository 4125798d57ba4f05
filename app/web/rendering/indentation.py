"""Templates without their indentation: it is for whoever writes them, and not for browsers."""

import re

from jinja2.ext import Extension

_INDENTATION = re.compile(r"^[ \t]+", re.MULTILINE)
# What keeps its lines as they are: a file to send is read by other programs, too.
_AS_WRITTEN = {"battery_file.html"}


class WithoutIndentation(Extension):
    """Leaves one space of it when a template is read, so that it costs nothing when a page is made.

    Not none: where the line before it ends with a block, whose line break goes, it parts words.
    """

    def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
        del filename
        return source if name in _AS_WRITTEN else _INDENTATION.sub(" ", source)
