"""Fields that say themselves what they are, as forms ask for them, read them and show them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from app.domain.fields.described_field import DescribedField, described_fields
from app.domain.i18n.message import say
from app.domain.limits import MAX_NOTE_LENGTH
from app.web.forms.form_reader import FormReader, typed

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


class Control(StrEnum):
    """With what a form asks for a field."""

    NUMBER = "number"
    CHECK = "check"
    CHOICE = "choice"
    DAY = "day"
    LINE = "line"
    AREA = "area"


@dataclass(frozen=True)
class AskedField:
    """What the macro `asked` of _partials/form.html needs of a field."""

    name: str
    label: str
    unit: str
    control: Control
    needed: bool
    choices: tuple[StrEnum, ...]


def asked_fields(thing: "type[DataclassInstance]") -> dict[str, AskedField]:
    """The fields that a form asks for, by their names in the program."""
    return {name: _as_asked(field) for name, field in _asked(thing).items()}


def read_fields(
    form: FormReader, thing: "type[DataclassInstance]", today: date | None = None
) -> dict[str, Any]:
    """Every field that a form asks for, by name, in the order of the thing; problems wait in the
    reader. A thing with days needs to know today."""
    return {name: _read(form, field, today) for name, field in _asked(thing).items()}


def shown_fields(entered: "DataclassInstance") -> dict[str, str]:
    """What a form shows of a stored thing, by the names in the form."""
    asked = _asked(type(entered))
    return {field.typed_as: _shown(field, getattr(entered, name)) for name, field in asked.items()}


def _asked(thing: "type[DataclassInstance]") -> Mapping[str, DescribedField]:
    return {name: field for name, field in described_fields(thing).items() if field.told.asked}


def _as_asked(field: DescribedField) -> AskedField:
    control, quantity = _control(field), field.told.quantity
    return AskedField(
        name=field.typed_as,
        label=field.label,
        unit=say(quantity.unit) if quantity else "",
        control=control,
        needed=field.is_needed and control is not Control.CHOICE,
        choices=tuple(field.kind) if control is Control.CHOICE else (),
    )


def _control(field: DescribedField) -> Control:
    if field.told.quantity is not None:
        return Control.NUMBER
    if field.kind is bool:
        return Control.CHECK
    if field.kind is date:
        return Control.DAY
    if issubclass(field.kind, StrEnum):
        return Control.CHOICE
    return Control.AREA if field.told.longest > MAX_NOTE_LENGTH else Control.LINE


def _read(form: FormReader, field: DescribedField, today: date | None) -> Any:
    name, called = field.typed_as, field.called
    match _control(field):
        case Control.NUMBER:
            return _number(form, field)
        case Control.CHECK:
            return bool(form.raw(name))
        case Control.CHOICE:
            return form.choice(name, called, field.kind)
        case Control.DAY:
            if today is None:
                raise TypeError(f"a form that asks for {name} needs to know today")
            read = form.optional_day if field.optional else form.day
            return read(name, called, today)
    return form.text(name, called, field.told.longest, required=field.is_needed)


def _number(form: FormReader, field: DescribedField) -> float | None:
    assert field.told.quantity is not None
    read = form.optional_number if field.optional else form.number
    value = read(field.typed_as, field.told.quantity, field.called)
    if value is None:
        return None
    if field.is_share:
        return value / 100
    return round(value) if field.kind is int else value


def _shown(field: DescribedField, value: Any) -> str:
    if value is None:
        return ""
    match _control(field):
        case Control.NUMBER:
            return f"{value * 100:.10g}" if field.is_share else typed(value, field.told.quantity)
        case Control.CHECK:
            return "on" if value else ""
    return str(value)
