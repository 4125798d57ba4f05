"""The columns of what an owner enters, made of what its fields say of themselves."""

from enum import StrEnum
from typing import TYPE_CHECKING

from app.domain.fields.described_field import DescribedField, described_fields
from app.domain.quantity import Quantity
from app.domain.records.table_schema import Plain
from app.storage.schema.row_values import stored
from app.storage.schema.table_docs import Column, Holds
from app.storage.schema.text_rules import LISTS

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


def described_columns(thing: "type[DataclassInstance]") -> dict[str, Column]:
    """What the described fields of a thing are in the records, by name."""
    return {name: _column(field) for name, field in described_fields(thing).items()}


def _column(field: DescribedField) -> Column:
    told = field.told
    earlier: Plain = stored(field.name, field.default) if told.added_later else None
    return Column(
        told.title, _unit(field), told.description, _holds(field), told.added_later, earlier
    )


def _unit(field: DescribedField) -> str:
    if field.told.unit or field.told.quantity is None:
        return field.told.unit
    return "1" if field.is_share else field.told.quantity.unit


def _holds(field: DescribedField) -> Holds:
    if field.told.quantity is not None:
        if field.told.computed:
            return None
        return _share_of(field.told.quantity) if field.is_share else field.told.quantity
    if isinstance(field.kind, type) and issubclass(field.kind, StrEnum):
        return field.kind
    return LISTS.get(field.kind)


def _share_of(percent: Quantity) -> Quantity:
    """The range of a share whose percentage has a range."""
    return Quantity(percent.name, "", percent.low / 100, percent.high / 100)
