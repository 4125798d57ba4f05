"""datapackage.json: what is in an archive, as the Data Package standard describes it.

Sources: specs.frictionlessdata.io, Data Package, Data Resource, Tabular Data Resource and Table
Schema, version 1 (datapackage.org carries their successors, which still read them). The properties
`unit` and `fadeline` are our own, which the standard allows.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from app.archive.csv_values import MOMENT_FORMAT
from app.archive.readings_file import NEEDED, TEST, WORDS
from app.archive.table_file import DIALECT
from app.domain.records.table_schema import ColumnKind, FieldSchema, TableSchema

PACKAGE_PATH = "datapackage.json"
README_PATH = "README.txt"
READINGS_SCHEMA_PATH = "readings/schema.json"
REPLACED_SCHEMA_PATH = "replaced/schema.json"
# Each test has a file of readings to itself: records and files to send of earlier versions.
FILE_A_TEST = 1
# Tests share files of readings.
SHARED_FILES = 2
FORMATS = (FILE_A_TEST, SHARED_FILES)
MISSING = "NULL"

Resource = dict[str, Any]
_TEST_FIELD: Resource = {
    "name": TEST,
    "type": ColumnKind.TEXT.value,
    "title": "Test",
    "description": "Lasting name of the capacity test: uid in tables/discharge.csv.",
    "constraints": {"required": True},
}


@dataclass(frozen=True)
class Label:
    """What a package is called, and what this program says of it in its own words."""

    name: str
    title: str
    description: str
    about: dict[str, Any]
    format: int = FILE_A_TEST


def records_label(with_links: bool) -> Label:
    """The label of everything that was entered."""
    return Label(
        "fadeline-records",
        "Records of capacity tests",
        "Everything that was entered about house batteries and their capacity tests. README.txt "
        "explains it in plain words.",
        {"links": with_links},
        SHARED_FILES,
    )


def table_path(table: str) -> str:
    """Where a table of the records stands."""
    return f"tables/{table}.csv"


def readings_path(uid: str) -> str:
    """Where the readings of a test stand that has a file to itself, by its lasting name."""
    return f"readings/{uid}.csv"


def shared_path(number: int) -> str:
    """Where the readings stand that are in the file of this number, from 1."""
    return f"readings/{number:04d}.csv"


def replaced_path(sha256: str) -> str:
    """Where readings that an edit replaced stand, by their hash."""
    return f"replaced/{sha256}.csv"


def original_path(sha256: str) -> str:
    """Where a file that a test came from stands, by its hash."""
    return f"originals/{sha256}"


def photo_path(sha256: str) -> str:
    """Where a photo stands, by its hash."""
    return f"photos/{sha256}.jpg"


def package_text(resources: Sequence[Resource], label: Label) -> str:
    """The whole descriptor."""
    package = {
        "profile": "data-package",
        "name": label.name,
        "title": label.title,
        "description": label.description,
        "fadeline": {"format": label.format, **label.about},
        "resources": list(resources),
    }
    return json.dumps(package, ensure_ascii=False, indent=1) + "\n"


def table_resource(table: TableSchema, missing: str) -> Resource:
    """What the descriptor says of a table; missing stands for what was not entered."""
    return {
        "name": table.name,
        "path": table_path(table.name),
        "title": table.title,
        "description": table.description,
        **_tabular(),
        "schema": _schema(table, missing),
    }


def readings_resource(path: str, title: str, schema: str = READINGS_SCHEMA_PATH) -> Resource:
    """What the descriptor says of one file of readings."""
    return {
        "name": _name(path),
        "path": path,
        "title": title,
        **_tabular(),
        "schema": schema,
    }


def file_resource(path: str, title: str, mediatype: str) -> Resource:
    """What the descriptor says of a file that is no table."""
    return {
        "profile": "data-resource",
        "name": _name(path),
        "path": path,
        "title": title,
        "mediatype": mediatype,
    }


def readings_schema(*, shared: bool) -> str:
    """The schema of all files of readings; shared ones name the test in each row."""
    fields: list[Resource] = [
        {
            "name": name,
            "type": ColumnKind.NUMBER.value,
            "title": title,
            "unit": unit,
            "description": description,
            "constraints": {"required": name in NEEDED},
        }
        for name, (title, unit, description) in WORDS.items()
    ]
    schema: Resource = {"fields": fields, "missingValues": [""]}
    if shared:
        fields.insert(0, _TEST_FIELD)
        leads_to = {"resource": "discharge", "fields": "uid"}
        schema["foreignKeys"] = [{"fields": TEST, "reference": leads_to}]
    return json.dumps(schema, ensure_ascii=False, indent=1) + "\n"


def _name(path: str) -> str:
    """Lower case, and none of the marks that Data Resource leaves out of names."""
    return path.lower().replace("/", "-")


def _tabular() -> Resource:
    return {
        "profile": "tabular-data-resource",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": DIALECT,
    }


def _schema(table: TableSchema, missing: str) -> Resource:
    schema: Resource = {
        "fields": [_field(table, column) for column in table.columns],
        "missingValues": [missing],
        "primaryKey": table.primary_key,
    }
    if table.references:
        schema["foreignKeys"] = [
            {"fields": column, "reference": {"resource": parent, "fields": "id"}}
            for column, parent in table.references
        ]
    return schema


def _field(table: TableSchema, column: FieldSchema) -> Resource:
    field: Resource = {
        "name": column.name,
        "type": column.kind.value,
        "title": column.title,
        "description": column.description,
    }
    if column.unit:
        field["unit"] = column.unit
    if column.kind is ColumnKind.MOMENT:
        field["format"] = MOMENT_FORMAT
    constraints: Resource = {} if column.nullable else {"required": True}
    if table.identity == (column.name,):
        constraints["unique"] = True
    if column.choices:
        constraints["enum"] = list(column.choices)
    if column.range is not None and column.range.high < 2**63 - 1:
        constraints |= {"minimum": column.range.low, "maximum": column.range.high}
    if constraints:
        field["constraints"] = constraints
    return field


def missing_word(is_typed: Callable[[str], bool]) -> str:
    """What stands for nothing in a table: a word that nobody typed in it."""
    word = MISSING
    while is_typed(word):
        word += "_"
    return word
