"""Templates without their indentation: it is for whoever writes them, and not for browsers."""

import re

from jinja2.ext import Extension

# One space of it stays where the line before it ends with a block, whose line break goes: it parts
# words.
_INDENTATION = re.compile(r"(?<=[%#]\}\n)([ \t])[ \t]*|^[ \t]+", re.MULTILINE)
# What keeps its lines as they are: a file to send is read by other programs, too.
_AS_WRITTEN = {"battery_file.html"}


class WithoutIndentation(Extension):
    """Takes it away when a template is read, so that it costs nothing when a page is made."""

    def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
        del filename
        return source if name in _AS_WRITTEN else _INDENTATION.sub(r"\1", source)
