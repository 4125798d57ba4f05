"""Reading datapackage.json, of which nothing is believed."""

import re
from dataclasses import dataclass
from typing import Any

from app.archive.bounded_json import read_json
from app.archive.limits import most_package_values
from app.archive.package import FILE_A_TEST, FORMATS, MISSING, PACKAGE_PATH, SHARED_FILES
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say

_HASH = re.compile(r"sha256:[0-9a-f]{64}")
_SHARED = re.compile(r"readings/([0-9]{4,5})\.csv")


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

    @property
    def format(self) -> int:
        """One of the formats that are known."""
        return int(self.about["format"])

    @property
    def shared_files(self) -> list[str]:
        """The files of readings that tests share, in their order."""
        named = filter(None, map(_SHARED.fullmatch, self.listed))
        return [path for _, path in sorted((int(one[1]), one[0]) for one in named)]


def read_package(text: bytes, entries: int) -> Package:
    """Read a descriptor. Raises InvalidInput for another format, a newer one, and what is none."""
    try:
        package = read_json(text, most_package_values(entries))
        if not isinstance(package, dict):
            raise ValueError
    except ValueError as error:
        raise InvalidInput.because(
            PACKAGE_PATH, say("no JSON object"), say("a Data Package")
        ) from error
    ours = package.get("fadeline")
    if not isinstance(ours, dict) or not isinstance(ours.get("format"), int):
        allowed = say("a package that fadeline export wrote")
        raise InvalidInput.because(PACKAGE_PATH, package.get("name", say("a package")), allowed)
    if ours["format"] not in FORMATS:
        newer = ours["format"] > max(FORMATS)
        found = (
            say("format {number}, which a newer Fadeline reads", number=ours["format"])
            if newer
            else say("format {number}", number=ours["format"])
        )
        allowed = say("format {first} or {second}", first=FILE_A_TEST, second=SHARED_FILES)
        if newer:
            allowed = say("{formats}, or Fadeline updated", formats=allowed)
        raise InvalidInput.because(f"{PACKAGE_PATH}, format", found, allowed)
    resources = package.get("resources")
    if not isinstance(resources, list):
        raise InvalidInput.because(
            f"{PACKAGE_PATH}, resources", resources, say("a list of entries")
        )
    listed: dict[str, Listed] = {}
    for resource in resources:
        one = _listed(resource)
        if one.path in listed:
            raise InvalidInput.because(
                f"{PACKAGE_PATH}, path", say("{name} twice", name=one.path), say("each entry once")
            )
        listed[one.path] = one
    return Package(listed, ours)


def _listed(resource: Any) -> Listed:
    if not isinstance(resource, dict) or not isinstance(resource.get("path"), str):
        raise InvalidInput.because(
            f"{PACKAGE_PATH}, resources", resource, say("entries with a path")
        )
    path, digest, size = resource["path"], resource.get("hash"), resource.get("bytes")
    if not isinstance(digest, str) or not _HASH.fullmatch(digest):
        raise InvalidInput.because(
            _of("hash", path),
            digest,
            say("sha256: and 64 digits"),
        )
    if type(size) is not int or size < 0:
        raise InvalidInput.because(
            _of("bytes", path),
            size,
            say("a whole number"),
        )
    schema = resource.get("schema")
    missing = schema.get("missingValues") if isinstance(schema, dict) else [MISSING]
    if not isinstance(missing, list) or len(missing) != 1 or not isinstance(missing[0], str):
        allowed = say("one text that marks an empty cell")
        raise InvalidInput.because(
            _of("missingValues", path),
            missing,
            allowed,
        )
    return Listed(path, digest.removeprefix("sha256:"), size, missing[0])


def _of(about: str, path: str) -> str:
    return say("{file}, {property} of {path}", file=PACKAGE_PATH, property=about, path=path)
