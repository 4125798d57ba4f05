"""What the texts of the tables must be like, beyond being text: as forms and feeds make them.

Rows from an archive are held against it, so that no page trips over what somebody wrote by hand.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import fields
from enum import StrEnum
from typing import Any

from app.domain.appliance import Appliance
from app.domain.entities.place import HoursAt, Season
from app.domain.i18n.marks import N_
from app.domain.share import SharePart
from app.domain.units.column import ColumnUse, CsvDialect, DayOrder
from app.storage.schema.hours_as_text import is_day_of_hours
from app.storage.schema.parts_as_json import are_parts, read_json
from app.storage.schema.sentences_as_json import are_sentences
from app.storage.schema.table_docs import StoredText


def _shaped(pattern: str) -> Callable[[str], bool]:
    shape = re.compile(pattern)
    return lambda text: bool(shape.fullmatch(text))


def _parts(words: str, kind: type[Any]) -> StoredText:
    in_check = f"{kind.__name__} parts as JSON"
    return StoredText(words, lambda text: are_parts(text, kind), in_check, is_list=True)


def _is_list(text: str, known: type[StrEnum] | None = None) -> bool:
    items = read_json(text)
    if not isinstance(items, list) or not all(isinstance(item, str) for item in items):
        return False
    return known is None or set(items) <= set(known)


def _is_layout(text: str) -> bool:
    if not text:
        return True
    layout = read_json(text)
    if not isinstance(layout, dict) or not set(layout) <= {f.name for f in fields(CsvDialect)}:
        return False
    order = layout.get("day_order")
    marks = (layout.get("delimiter", ""), layout.get("decimal", ""))
    return all(isinstance(mark, str) for mark in marks) and (
        order in (None, "") or order in set(DayOrder)
    )


_SHARE_PARTS = ", ".join(SharePart)

LASTING_NAME = StoredText(
    N_("32 hexadecimal digits"), _shaped("[0-9a-f]{32}"), "a name of 32 hexadecimal digits"
)
HASH = StoredText(
    N_("64 hexadecimal digits"), _shaped("[0-9a-f]{64}"), "a hash of 64 hexadecimal digits"
)
TOKEN = StoredText(
    N_("a token of 16 to 64 letters, digits, - and _"), _shaped("[A-Za-z0-9_-]{16,64}")
)
TABLE_NAME = StoredText(N_("the name of a table"), _shaped("[a-z_]+"))
PARTS = StoredText(
    f"names with commas between them, of: {_SHARE_PARTS}",
    lambda text: set(filter(None, text.split(","))) <= set(SharePart),
    f"some of: {_SHARE_PARTS}",
)
SENTENCES = StoredText(
    N_("sentences as a JSON array of texts"),
    _is_list,
    "a list of texts as JSON",
    is_list=True,
    in_file=are_sentences,
)
USES = StoredText(
    N_("uses of columns as a JSON array"),
    lambda text: _is_list(text, ColumnUse),
    "a list of known uses of columns as JSON",
    is_list=True,
)
LAYOUT = StoredText(N_("a layout as a JSON object"), _is_layout, "the layout of a file as JSON")
APPLIANCES = _parts(N_("appliances as a JSON array"), Appliance)
SEASONS = _parts(N_("seasons as a JSON array"), Season)
HOURS = _parts(N_("hours as a JSON array"), HoursAt)
# What a column holds of a field that is a tuple.
LISTS: Mapping[Any, StoredText] = {
    tuple[str, ...]: SENTENCES,
    tuple[Appliance, ...]: APPLIANCES,
    tuple[Season, ...]: SEASONS,
    tuple[HoursAt, ...]: HOURS,
}
DAY_OF_HOURS = StoredText(N_("24 numbers or dashes with spaces between them"), is_day_of_hours)
