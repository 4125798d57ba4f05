"""The descriptor against what the standard requires.

Sources: specs.frictionlessdata.io, version 1: Data Package ("Required Properties", "profile"),
Data Resource ("Required Properties": name and path, "hash", "bytes", "encoding"), Tabular Data
Resource, CSV Dialect, Table Schema ("Field Descriptors", "Types and Formats", "Constraints",
"missingValues", "primaryKey", "foreignKeys"). Written down from them by hand.
"""

import csv
import hashlib
import io
import json
import re

import pytest

from app.services.exchange import records_archive
from tests.archives import empty_store, entries_of, fill
from tests.storage.every_table import grow

pytestmark = pytest.mark.any_database

TYPES = {"string", "number", "integer", "boolean", "object", "array", "date", "datetime"}
FILES_BESIDE_TABLES = {"readings", "replaced", "originals", "photos"}
CONSTRAINTS = {"required", "unique", "enum", "minimum", "maximum"}


@pytest.fixture(scope="module")
def entries(tmp_path_factory):
    folder = tmp_path_factory.mktemp("package")
    store = empty_store(folder)
    fill(store)
    records_archive.export_records(store, folder / "a.zip")
    store.engine.dispose()
    return entries_of(folder / "a.zip")


@pytest.fixture(scope="module")
def package(entries):
    return json.loads(entries["datapackage.json"])


def tables(package, entries):
    for resource in package["resources"]:
        if resource["profile"] == "tabular-data-resource":
            schema = resource["schema"]
            yield resource, json.loads(entries[schema]) if isinstance(schema, str) else schema


def test_the_package_has_a_name_and_resources(package):
    assert package["profile"] == "data-package"
    assert re.fullmatch(r"[a-z0-9._-]+", package["name"])
    assert package["resources"]


def test_every_resource_has_a_name_of_its_own_and_a_path_below_the_package(package):
    names = [resource["name"] for resource in package["resources"]]
    assert len(set(names)) == len(names)
    for resource in package["resources"]:
        assert re.fullmatch(r"[a-z0-9._-]+", resource["name"])
        assert re.fullmatch(r"[A-Za-z0-9._-]+(/[A-Za-z0-9._-]+)?", resource["path"])
        assert ".." not in resource["path"]


def test_every_entry_is_listed_with_its_hash_and_length(package, entries):
    listed = {resource["path"]: resource for resource in package["resources"]}
    assert set(listed) == set(entries) - {"datapackage.json"}
    for path, resource in listed.items():
        assert resource["hash"] == "sha256:" + hashlib.sha256(entries[path]).hexdigest()
        assert resource["bytes"] == len(entries[path])


def test_every_table_is_csv_in_utf_8_with_the_columns_of_its_schema(package, entries):
    for resource, schema in tables(package, entries):
        assert (resource["format"], resource["encoding"]) == ("csv", "utf-8")
        dialect = resource["dialect"]
        assert dialect["header"]
        text = entries[resource["path"]].decode("utf-8")
        read = csv.reader(io.StringIO(text, newline=""), delimiter=dialect["delimiter"])
        rows = list(read)
        assert rows[0] == [field["name"] for field in schema["fields"]]
        assert all(len(row) == len(rows[0]) for row in rows)
        assert text.endswith(dialect["lineTerminator"])


def test_every_field_is_typed_and_explained(package, entries):
    for _, schema in tables(package, entries):
        assert all(isinstance(text, str) for text in schema["missingValues"])
        for field in schema["fields"]:
            assert field["type"] in TYPES
            assert field["title"]
            assert field["description"]
            assert set(field.get("constraints", {})) <= CONSTRAINTS
            if field["type"] == "number":
                assert field["unit"]


def test_keys_lead_to_columns_that_are_there(package, entries):
    fields = {
        resource["name"]: {field["name"] for field in schema["fields"]}
        for resource, schema in tables(package, entries)
    }
    led = 0
    for resource, schema in tables(package, entries):
        if "primaryKey" in schema:
            assert schema["primaryKey"] in fields[resource["name"]]
        for key in schema.get("foreignKeys", ()):
            assert key["fields"] in fields[resource["name"]]
            assert key["reference"]["fields"] in fields[key["reference"]["resource"]]
            led += 1
    # 17 between tables, and from the readings to their test.
    assert led == 18


def test_cells_are_of_their_type(package, entries):
    patterns = {
        "integer": r"-?\d+",
        "number": r"-?\d+(\.\d+)?(E[+-]?\d+)?",
        "boolean": "true|false",
        "date": r"\d{4}-\d\d-\d\d",
        "datetime": r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z",
    }
    for resource, schema in tables(package, entries):
        text = entries[resource["path"]].decode("utf-8")
        for row in csv.DictReader(io.StringIO(text, newline="")):
            for field in schema["fields"]:
                cell = row[field["name"]]
                if cell in schema["missingValues"]:
                    assert not field.get("constraints", {}).get("required")
                elif field["type"] in patterns:
                    assert re.fullmatch(patterns[field["type"]], cell), (field["name"], cell)
                elif field["type"] in ("array", "object"):
                    json.loads(cell)


def test_a_word_that_somebody_typed_does_not_stand_for_nothing(package, entries):
    missing = {
        resource["name"]: schema["missingValues"] for resource, schema in tables(package, entries)
    }
    assert missing["discharge"] == ["NULL_"], "one test has the note NULL"
    assert missing["battery"] == ["NULL"]


def test_the_readme_explains_every_folder_and_table(entries):
    text = entries["README.txt"].decode()
    for path in set(entries) - {"README.txt"}:
        assert path.split("/")[0] in text
        if path.startswith("tables/"):
            assert path.removeprefix("tables/") in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_the_export_that_the_build_has_judged_has_a_row_in_every_table(tmp_path):
    """.ci/run gives the same records to another program, which says nothing of an empty table."""
    store = empty_store(tmp_path)
    grow(store)
    records_archive.export_records(store, tmp_path / "a.zip")
    store.engine.dispose()
    entries = entries_of(tmp_path / "a.zip")
    rows = {
        path: len(list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))) - 1
        for path, data in entries.items()
        if path.endswith(".csv")
    }
    assert {path for path, number in rows.items() if number < 1} == set()
    assert {path.split("/")[0] for path in entries} >= {"tables", *FILES_BESIDE_TABLES}
