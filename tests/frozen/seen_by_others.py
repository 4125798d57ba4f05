"""What others hold on to: names of tables, addresses, answers, files, commands and variables.

    python -m tests.frozen.seen_by_others

writes the lists beside this file anew. A line that goes or changes breaks somebody's bookmark,
program or kept file; one that is new is frozen from then on.
"""

import csv
import io
import json
import re
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from enum import StrEnum
from pathlib import Path
from typing import Any

import typer
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import inspect

from app.cli.commands import app as commands
from app.server.application import create_app
from app.services.exchange import records_archive
from app.settings import Settings
from app.storage.schema.computed_table import computed_metadata
from tests.routes import every_route
from tests.storage import every_table

LISTS = Path(__file__).parent
APP = LISTS.parents[1] / "app"
DOWNLOADS = (
    "/batteries/1/tests.csv",
    "/batteries/1/tests.json",
    "/batteries/1/curves.csv",
    "/batteries/1/curves.json",
    "/discharges/1/readings.csv",
    "/discharges/1/readings.json",
    "/discharges/1/result.json",
    "/health",
)


def tables(app: FastAPI) -> Iterator[str]:
    """Every table of the data file with its columns; what was computed is nobody's to rely on."""
    looked = inspect(app.state.store.engine)
    for table in sorted({*looked.get_table_names()} - {*computed_metadata.tables}):
        for column in looked.get_columns(table):
            yield f"{table}.{column['name']}"


def addresses(app: FastAPI) -> Iterator[str]:
    """Every address with its method."""
    for route in every_route(app):
        for method in route.methods:
            yield f"{method} {route.path}"


def network_addresses(app: FastAPI) -> Iterator[str]:
    """Every address with its method that the network answers to, for codes that were scanned."""
    yield from addresses(app.state.network.application)


def answers(app: FastAPI) -> Iterator[str]:
    """What the interface takes and gives: each value by its way through the JSON, with its type."""
    described = app.openapi()
    schemas = described["components"]["schemas"]
    for path, methods in described["paths"].items():
        for method, one in methods.items():
            asked = f"{method.upper()} {path}"
            for given in one.get("parameters", ()):
                yield f"{asked} ?{given['name']}"
            if "requestBody" in one:
                body = one["requestBody"]["content"]["application/json"]["schema"]
                yield from _values(f"{asked} <", body, schemas)
            for status, answer in one["responses"].items():
                for content in answer.get("content", {}).values():
                    yield from _values(f"{asked} {status}", content["schema"], schemas)


def _values(way: str, schema: dict[str, Any], schemas: dict[str, Any]) -> Iterator[str]:
    if "$ref" in schema:
        schema = schemas[schema["$ref"].rpartition("/")[2]]
    for choice in schema.get("anyOf", schema.get("oneOf", ())):
        if choice.get("type") != "null":
            yield from _values(way, choice, schemas)
    for name, inner in schema.get("properties", {}).items():
        yield from _values(f"{way} .{name}", inner, schemas)
    for inner in (schema.get("items"), *schema.get("prefixItems", ())):
        if inner:
            yield from _values(f"{way} []", inner, schemas)
    if "enum" in schema:
        yield f"{way}: {' | '.join(map(str, schema['enum']))}"
    elif schema.get("type") not in (None, "object", "array"):
        yield f"{way}: {schema['type']}"


def files(app: FastAPI) -> Iterator[str]:
    """What can be taken away: the tables and values of downloads and of an archive."""
    client = TestClient(app, base_url="http://127.0.0.1", client=("127.0.0.1", 5000))
    for path in DOWNLOADS:
        answer = client.get(path)
        assert answer.status_code == 200, path
        if path.endswith(".csv"):
            heads = next(csv.reader(io.StringIO(answer.text.removeprefix("\ufeff"))))
            yield from (f"{path}: {head}" for head in heads)
        else:
            yield from (f"{path}: {way}" for way in _ways("", answer.json()))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "out.zip"
        records_archive.export_records(app.state.store, path)
        with zipfile.ZipFile(path) as archive:
            described = json.loads(archive.read("datapackage.json"))
            yield from (f"archive: {name}" for name in described)
            for resource in described["resources"]:
                yield from _fields(archive, resource)


def _fields(archive: zipfile.ZipFile, resource: dict[str, Any]) -> Iterator[str]:
    """The columns of a table of an archive; what several tables share lies in a file of its own."""
    schema = resource.get("schema", {})
    if isinstance(schema, str):
        schema = json.loads(archive.read(schema))
    for field in schema.get("fields", ()):
        yield f"archive: {resource['name']}.{field['name']}: {field['type']}"


def _ways(way: str, value: object) -> Iterator[str]:
    """The names on the way to each value; of a list its first entry stands for all."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _ways(f"{way} .{name}", inner)
    elif isinstance(value, list) and value:
        yield from _ways(f"{way} []", value[0])
    else:
        yield way.strip()


def command_line(_app: FastAPI) -> Iterator[str]:
    """Every command with its options, what may be chosen there, and what it is given."""
    group = typer.main.get_command(commands)
    for name, command in group.commands.items():
        yield f"fadeline {name}"
        for one in command.params:
            words = [*one.opts, *one.secondary_opts]
            yield from (f"fadeline {name} {word}" for word in words)
            given = one.type_descriptor.annotation
            if isinstance(given, type) and issubclass(given, StrEnum):
                yield from (f"fadeline {name} {words[0]} {choice}" for choice in given)


def environment(_app: FastAPI) -> Iterator[str]:
    """Every environment variable that the program names."""
    for file in APP.rglob("*.py"):
        yield from re.findall(r"FADELINE_[A-Z_]+", file.read_text(encoding="utf-8"))


COLLECTED: dict[str, Callable[[FastAPI], Iterator[str]]] = {
    "tables": tables,
    "addresses": addresses,
    "network_addresses": network_addresses,
    "answers": answers,
    "files": files,
    "command_line": command_line,
    "environment": environment,
}


def collected(kind: str, app: FastAPI) -> list[str]:
    return sorted(set(COLLECTED[kind](app)))


def example(folder: Path) -> FastAPI:
    """The program with something in every table."""
    app = create_app(Settings(data_dir=folder))
    every_table.grow(app.state.store)
    return app


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        app = example(Path(folder))
        for kind in COLLECTED:
            text = "".join(f"{line}\n" for line in collected(kind, app))
            (LISTS / f"{kind}.txt").write_text(text, encoding="utf-8")
        app.state.example.close()
        app.state.store.engine.dispose()


if __name__ == "__main__":
    main()
