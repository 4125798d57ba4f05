"""The JSON interface as its OpenAPI document describes it, laid out for a page."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say

_NULL = re.compile(r"\bNone\b")
# Names carry their unit at their end; the longer ends come first.
_UNITS = (
    ("_percent_per_year", "%/a"),
    ("_percent", "%"),
    ("_kwh", "kWh"),
    ("_wh", "Wh"),
    ("_ah", "Ah"),
    ("_a", "A"),
    ("_v", "V"),
    ("_c", "°C"),
    ("_h", "h"),
)
_FORMATS = {"date-time": N_("date and time"), "date": N_("date")}

# What fits into a number of a database and no real list.
_ANY = 2**53

Schema = Mapping[str, Any]


@dataclass(frozen=True)
class Value:
    """A parameter or a field: its name, type, unit and meaning; part is the kind of thing that it
    holds, where that has fields of its own. choices are the only values that it takes."""

    name: str
    type: str
    unit: str
    meaning: str
    needed: bool
    part: str
    choices: tuple[str, ...]


@dataclass(frozen=True)
class Part:
    """A kind of thing in what is sent or answered, with its fields."""

    name: str
    meaning: str
    values: tuple[Value, ...]


@dataclass(frozen=True)
class Refusal:
    """A status other than success, and when it comes."""

    status: str
    meaning: str


@dataclass(frozen=True)
class Operation:
    """One thing to ask for. body is what is sent and what that holds further in; example is a body
    that fits, empty where nothing is sent; many says that the answer is a list."""

    name: str
    method: str
    address: str
    meaning: tuple[str, ...]
    word: bool
    parameters: tuple[Value, ...]
    body: tuple[Part, ...]
    example: str
    answer: Part | None
    many: bool
    refusals: tuple[Refusal, ...]


@dataclass(frozen=True)
class Interface:
    """Everything that the document describes. parts are what answers hold further in; refused is
    how a refusal looks."""

    version: str
    operations: tuple[Operation, ...]
    parts: tuple[Part, ...]
    refused: Part | None


def read_interface(document: Mapping[str, Any]) -> Interface:
    """Lay out an OpenAPI document."""
    schemas: Mapping[str, Schema] = document.get("components", {}).get("schemas", {})
    operations = tuple(
        _operation(address, method, told, schemas)
        for address, methods in document["paths"].items()
        for method, told in methods.items()
    )
    outer = [one.answer for one in operations if one.answer]
    return Interface(
        version=document["openapi"],
        operations=operations,
        parts=tuple(_further_in(outer, schemas)),
        refused=next(
            (
                _part(schema, schemas)
                for methods in document["paths"].values()
                for told in methods.values()
                for status, answer in told["responses"].items()
                if not status.startswith("2") and (schema := _json(answer)) is not None
            ),
            None,
        ),
    )


def _operation(
    address: str, method: str, told: Mapping[str, Any], schemas: Mapping[str, Schema]
) -> Operation:
    body = _json(told.get("requestBody", {}))
    answer = next(
        (_json(one) for status, one in told["responses"].items() if status.startswith("2")), None
    )
    sent = None if body is None else _part(body, schemas)
    many = answer is not None and answer.get("type") == "array"
    return Operation(
        name=f"{method}-{address.strip('/').translate(str.maketrans('/', '-', '{}'))}",
        method=method.upper(),
        address=address,
        meaning=tuple(say(one) for one in _words(told).split("\n\n")),
        word=bool(told.get("security")),
        parameters=tuple(
            _value(one["name"], one["schema"] | _described(one), one["required"], schemas)
            for one in told.get("parameters", ())
        ),
        body=() if sent is None else (sent, *_further_in([sent], schemas)),
        example=_example(body, schemas),
        answer=None if answer is None else _part(answer, schemas),
        many=many,
        refusals=tuple(
            Refusal(status, say(_words(one)))
            for status, one in sorted(told["responses"].items())
            if not status.startswith("2")
        ),
    )


def _json(held: Mapping[str, Any]) -> Schema | None:
    schema: Schema | None = held.get("content", {}).get("application/json", {}).get("schema")
    return schema


def _example(body: Schema | None, schemas: Mapping[str, Schema]) -> str:
    examples = [] if body is None else _named(body, schemas)[1].get("examples", [])
    return json.dumps(examples[0], indent=2) if examples else ""


def _described(told: Mapping[str, Any]) -> dict[str, Any]:
    return {"description": told["description"]} if "description" in told else {}


def _words(told: Mapping[str, Any]) -> str:
    """What is said of it. What Python calls None is null in JSON."""
    return _NULL.sub("null", told.get("description", ""))


def _named(schema: Schema, schemas: Mapping[str, Schema]) -> tuple[str, Schema]:
    """What a reference leads to, with its name."""
    if "$ref" not in schema:
        return "", schema
    name = schema["$ref"].rpartition("/")[2]
    return name, schemas[name]


def _part(schema: Schema, schemas: Mapping[str, Schema]) -> Part | None:
    """A thing with fields, or the one that a list holds; None for a plain value."""
    name, found = _named(schema.get("items", schema), schemas)
    if "properties" not in found:
        return None
    needed = found.get("required", ())
    values = (
        _value(one, told, one in needed, schemas) for one, told in found["properties"].items()
    )
    return Part(name, say(_words(found)), tuple(values))


def _further_in(parts: list[Part], schemas: Mapping[str, Schema]) -> Iterator[Part]:
    """Each part that a field of these holds, and what those hold, once and by name."""
    found: dict[str, Part] = {}
    waiting = list(parts)
    while waiting:
        for value in waiting.pop().values:
            if value.part and value.part not in found:
                part = _part({"$ref": f"#/components/schemas/{value.part}"}, schemas)
                if part is not None:
                    found[value.part] = part
                    waiting.append(part)
    return (found[name] for name in sorted(found))


def _value(name: str, told: Schema, needed: bool, schemas: Mapping[str, Schema]) -> Value:
    types, parts, choices = [], [], []
    meaning = _words(told)
    for one in _alternatives(told):
        inner, found = _named(one.get("items", one), schemas)
        choices += [str(choice) for choice in found.get("enum", ())]
        if "properties" in found:
            parts.append(inner)
        meaning = meaning or _words(one) or ("" if "properties" in found else _words(found))
        kind = inner if "properties" in found else _type(found)
        types.append(_several(one, kind) if one.get("type") == "array" else kind)
    unit = next((unit for end, unit in _UNITS if f"_{name}".endswith(end)), "")
    numeric = any("number" in one or "integer" in one for one in types)
    return Value(
        name=name,
        type=joined(say(" or "), types),
        unit=unit if numeric else "",
        meaning=say(meaning),
        needed=needed,
        part=parts[0] if parts else "",
        choices=tuple(choices),
    )


def _alternatives(told: Schema) -> tuple[Schema, ...]:
    return tuple(told.get("anyOf", (told,)))


def _type(schema: Schema) -> str:
    if "prefixItems" in schema:
        return say("list of {count} values", count=len(schema["prefixItems"]))
    if schema.get("format") in _FORMATS:
        return say(_FORMATS[schema["format"]])
    return joined("", (str(schema.get("type", "any")), _limits(schema)))


def _several(schema: Schema, kind: str) -> str:
    return say("list{limits} of {kind}", limits=_limits(schema), kind=kind)


def _limits(schema: Schema) -> str:
    """From and up to what it goes, where the two say more than what a computer can hold."""
    for least, most in (("minimum", "maximum"), ("minItems", "maxItems")):
        if least in schema and schema.get(most, _ANY) < _ANY:
            return say(" ({least} to {most})", least=schema[least], most=schema[most])
    return (
        say(" (at most {most} characters)", most=schema["maxLength"])
        if "maxLength" in schema
        else ""
    )
