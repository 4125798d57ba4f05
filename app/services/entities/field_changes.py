"""In which fields two versions of a thing differ, in the words of the records' columns."""

from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import date, datetime
from enum import StrEnum
from functools import partial
from typing import Any, cast

from app.analysis.plausibility.readings_changes import compare_readings
from app.domain.entities.discharge import DischargeDetails
from app.domain.entity_kind import EntityKind
from app.domain.errors import truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Message, joined, say, transformed, written_day, written_number
from app.domain.records.revision import Entered, FieldChange
from app.storage.records.tables_as_rows import DESCRIBED

# Of a long text so much is shown, and so much before the first letter that differs.
_MAX_LETTERS, _LETTERS_BEFORE = 90, 20
# What is told with another field, or does not change by an edit.
NOTHING = N_("nothing")
_UNTOLD = ("id", "battery_id", "version", "utc_offset_minutes", "readings")


def changes_between(
    thing: EntityKind, before: Entered, after: Entered, meter_names: Mapping[int, str]
) -> tuple[FieldChange, ...]:
    """Every field in which the versions differ, in the order in which they are entered."""
    columns = DESCRIBED[thing].columns
    found: list[FieldChange] = []
    for name in (field.name for field in fields(after) if field.name not in _UNTOLD):
        one, other = (_value(version, name, meter_names) for version in (before, after))
        if one != other:
            column = columns[name]
            found.append(FieldChange(say(column.title), *_pair(one, other, column.unit)))
    if isinstance(before, DischargeDetails) and isinstance(after, DischargeDetails):
        found += _readings(before, after)
    return tuple(found)


def same(before: Entered, after: Entered) -> bool:
    """Whether two versions are equal, without saying in what they differ."""
    if isinstance(before, DischargeDetails) and isinstance(after, DischargeDetails):
        if before.readings.digest != after.readings.digest:
            return False
        return replace(before, readings=after.readings) == after
    return before == after


def _value(version: Entered, name: str, meter_names: Mapping[int, str]) -> Any:
    """A field as it is told: the start by the clock of its place, the meter by its name."""
    if isinstance(version, DischargeDetails):
        if name == "started_at":
            return _moment(version.started_local)
        if name == "meter_id" and version.meter_id is not None:
            return meter_names.get(
                version.meter_id, say("number {number}, which is gone", number=version.meter_id)
            )
    return getattr(version, name)


def _readings(before: DischargeDetails, after: DischargeDetails) -> list[FieldChange]:
    one, other = before.readings, after.readings
    if one.digest == other.digest:
        return []
    moved_s = (after.started_at - before.started_at).total_seconds()
    change = compare_readings(one, other, moved_s)
    rows = say("{count} rows", count=len(other))
    return [FieldChange(say("Readings"), f"{len(one)}", rows, change.words)]


def _pair(one: Any, other: Any, unit: str) -> tuple[str, str]:
    named = isinstance(one, StrEnum | _Moment)
    if isinstance(one, str) and isinstance(other, str) and not named:
        return _texts(one, other)
    if isinstance(one, tuple) and isinstance(other, tuple):
        # Sentences, or parts that say themselves in words.
        both = (joined("; ", map(_plain, parts)) for parts in (one, other))
        return _texts(*both)
    return _shown(one, unit), _shown(other, unit)


def _plain(part: object) -> str:
    return part if isinstance(part, str) else str(part)


def _texts(one: str, other: str) -> tuple[str, str]:
    """Both texts around the first letter in which they differ."""
    pairs = enumerate(zip(one, other, strict=False))
    same = next((i for i, (a, b) in pairs if a != b), min(len(one), len(other)))
    fits = max(len(one), len(other)) <= _MAX_LETTERS
    start = 0 if fits else max(0, same - _LETTERS_BEFORE)
    shown = tuple(_excerpt(text, start) for text in (one, other))
    if shown[0] == shown[1]:
        return shown[0], say("{text}, with other spaces or line breaks", text=shown[1])
    return shown[0], shown[1]


def _part(start: int, text: str) -> str:
    return f"{'…' if start else ''}{truncate(text[start:], _MAX_LETTERS)}"


def _excerpt(text: str, start: int) -> str:
    if not text.strip():
        return say(NOTHING)
    return _quoted(transformed(text, partial(_part, start)))


def _shown(value: Any, unit: str) -> str:
    if value is None or value == "":
        return say(NOTHING)
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, StrEnum):
        return cast(str, getattr(value, "label", value.value))
    if isinstance(value, _Moment):
        return value
    if isinstance(value, date):
        return written_day(value)
    if isinstance(value, int | float):
        return _number(value, unit)
    return _quoted(truncate(str(value), _MAX_LETTERS))


class _Moment(Message):
    """A moment in words, which is shown without quotes."""


def _moment(value: datetime) -> _Moment:
    """With all that it is stored with, so that any change is seen."""
    rest = value.strftime("%f").rstrip("0")
    seconds = f"{value:%S}{'.' if rest else ''}{rest}"
    seconds = "" if seconds == "00" else f":{seconds}"
    clock = f"{value:%H:%M}{seconds} (UTC{value.isoformat()[-6:]})"
    return _Moment("{day}, {clock}", {"day": value.date(), "clock": clock})


def _number(value: float, unit: str) -> str:
    """A number with its unit; shares as percentages."""
    if unit == "1":
        return joined(" ", (_written(100 * value), "%"))
    # Labels say that days and nights are counted; the currency is the owner's.
    named = unit not in ("", "d", "the owner's currency")
    return joined(" ", (_written(value), say(unit))) if named else _written(value)


def _written(value: float) -> str:
    return written_number(value, ".10g")


def _quoted(text: str) -> str:
    return say("“{text}”", text=text)
