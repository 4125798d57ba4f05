"""A thing as an owner enters it, and the values of its row: field by field, by their types.

A choice is kept as its text, readings are packed, sentences and parts without a life of their own
are JSON.
"""

from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar, get_args, get_type_hints

from sqlmodel import SQLModel

from app.domain.fields.described_field import without_none
from app.domain.readings import Readings
from app.storage.schema.packing import pack_readings, unpack_readings
from app.storage.schema.parts_as_json import from_json, to_json
from app.storage.schema.sentences_as_json import (
    LINE,
    LISTS,
    line_from_text,
    line_to_text,
    list_from_json,
    list_to_json,
)

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Entered = TypeVar("Entered", bound="DataclassInstance")


def row_values(entered: "DataclassInstance") -> dict[str, Any]:
    """What the columns of a row hold of it, by their names."""
    return {name: stored(name, getattr(entered, name)) for name in _kinds(type(entered))}


def stored(column: str, value: Any) -> Any:
    """A value of a field as its column holds it."""
    if column == LINE:
        return line_to_text(value)
    if isinstance(value, Readings):
        return pack_readings(value)
    if isinstance(value, tuple):
        texts = all(isinstance(one, str) for one in value)
        return list_to_json(value, column) if texts and column in LISTS else to_json(value)
    return value


def of_row(thing: type[Entered], row: SQLModel) -> Entered:
    """What a stored row says, as it was entered."""
    return of_values(thing, {name: getattr(row, name) for name in _kinds(thing)})


def of_values(thing: type[Entered], values: Mapping[str, Any]) -> Entered:
    """What the values of a row say, by the names of its columns.

    A field that was added to the program later takes what it means where it is not given. Raises
    TypeError where another is missing, ValueError where one is damaged, and StorageError where
    readings or parts are.
    """
    given = ((name, kind) for name, kind in _kinds(thing).items() if name in values)
    return thing(**{name: _read(name, kind, values[name]) for name, kind in given})


@cache
def _kinds(thing: "type[DataclassInstance]") -> dict[str, Any]:
    """The types of its fields by name, without the None that some may be."""
    hints = get_type_hints(thing)
    return {field.name: without_none(hints[field.name])[0] for field in fields(thing)}


def _read(column: str, kind: Any, value: Any) -> Any:
    if isinstance(value, bytes) and kind is Readings:
        return unpack_readings(value)
    if not isinstance(value, str):
        return value
    if column == LINE:
        return line_from_text(value)
    if not isinstance(kind, type):
        (part, _) = get_args(kind)
        return list_from_json(value) if part is str else from_json(value, part)
    if issubclass(kind, StrEnum):
        return kind(value)
    # A row that an edit replaced keeps days and moments as texts.
    return kind.fromisoformat(value) if issubclass(kind, date) else value
