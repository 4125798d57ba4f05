"""A figure as its reader reads it: the texts in their language, the decimal sign in theirs."""

from typing import Any

from app.charts.theme import Figure
from app.domain.i18n.message import Reader


def read_figure(figure: Figure, reader: Reader) -> Figure:
    """The same figure with every message in it read."""
    read: Figure = _read(figure, reader)
    if reader.preferences.comma:
        read["layout"]["separators"] = ",\u202f"
    return read


def _read(value: Any, reader: Reader) -> Any:
    if isinstance(value, str):
        return reader.read(value)
    if isinstance(value, dict):
        return {name: _read(inner, reader) for name, inner in value.items()}
    # A list of numbers has no words, and may be long.
    if isinstance(value, list | tuple) and value and not isinstance(value[0], int | float):
        return [_read(inner, reader) for inner in value]
    return value
