"""Parts of a thing that have no life of their own, as JSON in one column and back."""

import json
from collections.abc import Sequence
from dataclasses import asdict, fields
from typing import Any, TypeVar

from app.domain.errors import StorageError
from app.domain.i18n.message import say

Part = TypeVar("Part")


def to_json(parts: Sequence[Any]) -> str:
    """Dataclasses of plain fields as an array of objects."""
    return json.dumps([asdict(one) for one in parts], ensure_ascii=False)


def from_json(text: str, kind: type[Part]) -> tuple[Part, ...]:
    """Invert to_json. Raises StorageError where the text is damaged."""
    try:
        return tuple(kind(**one) for one in json.loads(text))
    except (TypeError, ValueError) as error:
        raise StorageError(
            say("A list of {kind} in the data file is damaged.", kind=kind.__name__)
        ) from error


def read_json(text: str) -> Any:
    """What the text holds; None where it is no JSON, or too deep a one."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def are_parts(text: str, kind: type[Any]) -> bool:
    """Whether the text holds parts of this kind, each with every field and nothing else."""
    given = read_json(text)
    names = {field.name for field in fields(kind)}
    return isinstance(given, list) and all(
        isinstance(one, dict)
        and set(one) == names
        and all(isinstance(value, str | int | float | None) for value in one.values())
        for one in given
    )
