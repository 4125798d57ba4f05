"""datapackage.json: what is in an archive, as the Data Package standard describes it.

Sources: specs.frictionlessdata.io, Data Package, Data Resource, Tabular Data Resource and Table
Schema, version 1 (datapackage.org carries their successors, which still read them). The properties
`unit` and `fadeline` are our own, which the standard allows.
"""

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from app.archive.cells import MOMENT_FORMAT
from app.archive.readings_file import NEEDED, WORDS
from app.archive.table_file import DIALECT
from app.domain.errors import Refused
from app.domain.record_table import ColumnKind, RecordColumn, RecordTable
from app.domain.saying import say

PACKAGE_PATH = "datapackage.json"
README_PATH = "README.txt"
READINGS_SCHEMA_PATH = "readings/schema.json"
FORMAT = 1
MISSING = "NULL"
_HASH = re.compile(r"sha256:[0-9a-f]{64}")

Resource = dict[str, Any]


@dataclass(frozen=True)
class Listed:
    """One entry as the package lists it; missing is what stands for nothing in a table."""

    path: str
    sha256: str
    size: int
    missing: str


@dataclass(frozen=True)
class Package:
    """What the package says of its archive; about is what this program says of its own."""

    listed: dict[str, Listed]
    about: dict[str, Any]


@dataclass(frozen=True)
class Label:
    """What a package is called, and what this program says of it in its own words."""

    name: str
    title: str
    description: str
    about: dict[str, Any]


def records_label(with_links: bool) -> Label:
    """The label of everything that was entered."""
    return Label(
        "fadeline-records",
        "Records of capacity tests",
        "Everything that was entered about house batteries and their capacity tests. README.txt "
        "explains it in plain words.",
        {"links": with_links},
    )


def table_path(table: str) -> str:
    """Where a table of the records stands."""
    return f"tables/{table}.csv"


def readings_path(uid: str) -> str:
    """Where the readings of a test stand, by its lasting name."""
    return f"readings/{uid}.csv"


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
        "fadeline": {"format": FORMAT, **label.about},
        "resources": list(resources),
    }
    return json.dumps(package, ensure_ascii=False, indent=1) + "\n"


def table_resource(table: RecordTable, missing: str) -> Resource:
    """What the descriptor says of a table; missing stands for what was not entered."""
    return {
        "name": table.name,
        "path": table_path(table.name),
        "title": table.title,
        "description": table.description,
        **_tabular(),
        "schema": _schema(table, missing),
    }


def readings_resource(path: str, title: str) -> Resource:
    """What the descriptor says of one file of readings."""
    return {
        "name": _name(path),
        "path": path,
        "title": title,
        **_tabular(),
        "schema": READINGS_SCHEMA_PATH,
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


def readings_schema() -> str:
    """The schema that all files of readings share."""
    fields = [
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
    return (
        json.dumps({"fields": fields, "missingValues": [""]}, ensure_ascii=False, indent=1) + "\n"
    )


def read_package(text: bytes) -> Package:
    """Read a descriptor. Raises Refused for another format, a newer one, and what is none."""
    try:
        package = json.loads(text)
        if not isinstance(package, dict):
            raise ValueError
    except (ValueError, RecursionError) as error:
        raise Refused.because(PACKAGE_PATH, say("no JSON object"), say("a Data Package")) from error
    ours = package.get("fadeline")
    if not isinstance(ours, dict) or not isinstance(ours.get("format"), int):
        allowed = say("a package that fadeline export wrote")
        raise Refused.because(PACKAGE_PATH, package.get("name", say("a package")), allowed)
    if ours["format"] != FORMAT:
        found = (
            say("format {number}, which a newer Fadeline reads", number=ours["format"])
            if ours["format"] > FORMAT
            else say("format {number}", number=ours["format"])
        )
        raise Refused.because(
            f"{PACKAGE_PATH}, format", found, say("format {number}", number=FORMAT)
        )
    resources = package.get("resources")
    if not isinstance(resources, list):
        raise Refused.because(f"{PACKAGE_PATH}, resources", resources, say("a list of entries"))
    listed: dict[str, Listed] = {}
    for resource in resources:
        one = _listed(resource)
        if one.path in listed:
            raise Refused.because(
                f"{PACKAGE_PATH}, path", say("{name} twice", name=one.path), say("each entry once")
            )
        listed[one.path] = one
    return Package(listed, ours)


def _listed(resource: Any) -> Listed:
    if not isinstance(resource, dict) or not isinstance(resource.get("path"), str):
        raise Refused.because(f"{PACKAGE_PATH}, resources", resource, say("entries with a path"))
    path, digest, size = resource["path"], resource.get("hash"), resource.get("bytes")
    if not isinstance(digest, str) or not _HASH.fullmatch(digest):
        raise Refused.because(
            _of("hash", path),
            digest,
            say("sha256: and 64 digits"),
        )
    if type(size) is not int or size < 0:
        raise Refused.because(
            _of("bytes", path),
            size,
            say("a whole number"),
        )
    schema = resource.get("schema")
    missing = schema.get("missingValues") if isinstance(schema, dict) else [MISSING]
    if not isinstance(missing, list) or len(missing) != 1 or not isinstance(missing[0], str):
        allowed = say("one text that stands for nothing")
        raise Refused.because(
            _of("missingValues", path),
            missing,
            allowed,
        )
    return Listed(path, digest.removeprefix("sha256:"), size, missing[0])


def _of(about: str, path: str) -> str:
    return say("{file}, {property} of {path}", file=PACKAGE_PATH, property=about, path=path)


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


def _schema(table: RecordTable, missing: str) -> Resource:
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


def _field(table: RecordTable, column: RecordColumn) -> Resource:
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
