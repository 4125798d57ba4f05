"""What pybabel calls to find the texts of data files: the sources that pages cite."""

import json
from collections.abc import Iterator
from typing import IO


def extract_sources(
    file: IO[bytes], *_: object, **__: object
) -> Iterator[tuple[int, None, str, list[str]]]:
    """Every “source” of a JSON file, as Babel asks for texts: line, keyword, text, comments."""
    found: list[str] = []

    def keep(entry: dict[str, object]) -> dict[str, object]:
        if isinstance(source := entry.get("source"), str):
            found.append(source)
        return entry

    json.load(file, object_hook=keep)
    # JSON does not tell lines, and the catalogue has none.
    yield from ((1, None, source, []) for source in found)
