"""A descriptor that is small in the file and large once it is read, and other JSON like it."""

import json
import tracemalloc

import pytest

from app.archive.bounded_json import MAX_LEVELS, read_json
from app.archive.limits import most_bytes, most_package_values
from app.archive.reader import open_archive
from app.domain.errors import InvalidInput
from tests.archive.spoiling import packaged, replaced
from tests.archives import entries_of, packed, spoiled

pytestmark = pytest.mark.any_database


def nested(levels):
    return b"[" * levels + b"]" * levels


def with_objects(archive, target, count):
    """So many empty objects, of three bytes each, at the end of the descriptor."""
    entries = entries_of(archive)
    whole = entries["datapackage.json"].rstrip().removesuffix(b"}")
    entries["datapackage.json"] = whole + b',"x":[' + b"{}," * count + b"0]}"
    return packed(entries, target)


def test_a_long_descriptor_is_refused_before_it_is_unpacked(archive, tmp_path, refused):
    path = with_objects(archive, tmp_path / "b.zip", 20_000_000)
    assert path.stat().st_size < 100_000
    tracemalloc.start()
    with pytest.raises(InvalidInput):
        open_archive(path)
    assert tracemalloc.get_traced_memory()[1] < 5_000_000
    tracemalloc.stop()
    # 25 entries: 100 kB and 1 kB for each.
    assert len(entries_of(archive)) == 25
    refused(
        path, r"datapackage.json, unpacked”: “60,05\d kB” does not fit. It needs at most 125 kB"
    )


def test_a_descriptor_of_too_many_values_is_refused(archive, tmp_path, refused):
    path = with_objects(archive, tmp_path / "b.zip", 15_000)
    assert len(entries_of(path)["datapackage.json"]) < most_bytes("datapackage.json", 25)
    refused(path, "a Data Package")


def test_a_descriptor_of_too_many_levels_is_refused(archive, tmp_path, refused):
    deep = json.loads(nested(MAX_LEVELS))
    refused(spoiled(archive, tmp_path / "b.zip", packaged(x=deep)), "a Data Package")
    flat = json.loads(nested(MAX_LEVELS - 2))
    open_archive(spoiled(archive, tmp_path / "c.zip", packaged(x=flat))).close()


def test_a_cell_of_too_many_levels_is_refused(archive, tmp_path, refused):
    """One that could be read, but not written from a deeper place of the program."""
    deep = b'""price"":' + nested(400)
    path = spoiled(
        archive,
        tmp_path / "b.zip",
        replaced("tables/revision.csv", b'""price"":987654.0', deep),
    )
    refused(path, "a JSON object")


def test_every_true_descriptor_has_room(archive):
    """Half of the limits do, for the tables and for each entry of any kind."""
    text = entries_of(archive)["datapackage.json"]
    resources = json.loads(text)["resources"]
    assert len(text) < most_bytes("datapackage.json", len(resources)) * 0.6
    own = (json.dumps(one, indent=1) for one in resources if not one["path"].startswith("tables/"))
    for one in own:
        # Within the descriptor it is indented by two more at each of its lines.
        assert len(one) + 2 * one.count("\n") < 700
        assert sum(map(one.count, "{[,")) <= 20
    assert most_package_values(0) > 2 * sum(text.count(mark) for mark in (b"{", b"[", b","))


def test_values_are_counted_by_the_marks_before_them():
    assert read_json(b'{"a":[1,2]}', 3) == {"a": [1, 2]}
    with pytest.raises(ValueError, match="values"):
        read_json(b'{"a":[1,2]}', 2)
    with pytest.raises(ValueError, match="values"):
        read_json(b'{"a":",,"}', 2)


@pytest.mark.parametrize("levels", [MAX_LEVELS + 1, 900, 200_000])
def test_levels_are_counted(levels):
    with pytest.raises(ValueError, match="levels"):
        read_json(nested(levels), 1_000_000)
    assert read_json(nested(MAX_LEVELS), 1_000_000)
