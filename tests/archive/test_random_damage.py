"""Archives damaged at random, with fixed seeds: one sentence, or the same records."""

import io
import random
import warnings
import zipfile

import pytest

from app.domain.errors import InvalidInput
from app.services.entities import batteries
from app.services.exchange import records_archive
from tests.archives import empty_store, entries_of, exported, packed, relist
from tests.builders import NOW
from tests.postgres import file_damages
from tests.stateful_model import Folder

REVISION = "tables/revision.csv"


def bytes_changed(whole, chance):
    data = bytearray(whole)
    for _ in range(chance.choice((1, 1, 3, 20))):
        data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data)


def cut_short(whole, chance):
    return whole[: chance.randrange(len(whole))]


def repacked(whole, chance):
    """A member removed, there twice, under another's name or one that climbs; in any order."""
    with zipfile.ZipFile(io.BytesIO(whole)) as opened:
        members = [(name, opened.read(name)) for name in opened.namelist()]
    at = chance.randrange(len(members))
    name, data = members[at]
    other = chance.choice(["../" + name, "/" + name, name.upper(), chance.choice(members)[0]])
    ways = ([], [(name, data)] * 2, [(other, data)], [(name, data[:-1])])
    members[at : at + 1] = chance.choice(ways)
    chance.shuffle(members)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as opened, warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        for name, data in members:
            opened.writestr(name, data)
    return made.getvalue()


@pytest.mark.parametrize(
    ("damage", "times"), [(bytes_changed, 300), (cut_short, 60), (repacked, 60)]
)
def test_whatever_is_damaged_it_is_one_sentence_or_the_same_records(
    archive, mine, tmp_path, damage, times
):
    """At random places, with a fixed seed."""
    chance = random.Random(5)
    whole = archive.read_bytes()
    before = exported(mine, tmp_path / "before.zip")
    undamaged = records_archive.look_at_archive(mine, archive)
    refusals = []
    for _ in range(times):
        (tmp_path / "b.zip").write_bytes(damage(whole, chance))
        try:
            # A date or an attribute inside the ZIP that nobody reads.
            assert records_archive.look_at_archive(mine, tmp_path / "b.zip") == undamaged
        except InvalidInput as refused:
            refusals.append(str(refused))
            with pytest.raises(InvalidInput):
                records_archive.restore_records(mine, tmp_path / "b.zip", merge=True)
    assert len(refusals) > times / 2
    assert not any("\n" in sentence for sentence in refusals)
    assert exported(mine, tmp_path / "after.zip") == before


# Pieces that a careless hand or a hostile one might put into a table.
PIECES = (b"1e999", b"\\ud800", b'{""base64"":""x""}', b"NULL", b"-0.0", b"9" * 30, b'"', b"\r\n")
PIECES += (b"2026-02-30", b"null", b"true", b"{}", b"\0", b"\xff", b",", b"-1")


def test_tables_spoiled_with_patience_leave_records_that_go_out_again(archive, tmp_path):
    """With every hash made right: what is taken can be shown, checked, exported and restored."""
    chance = random.Random(11)
    empty_store(tmp_path).engine.dispose()
    folder = Folder(tmp_path, tmp_path / "fadeline.db")
    whole, taken = entries_of(archive), 0
    tables = sorted(name for name in whole if name.endswith(".csv"))
    for _ in range(60):
        name = chance.choice((REVISION, chance.choice(tables)))
        data = bytearray(whole[name])
        at = chance.randrange(len(data))
        data[at : at + chance.choice((0, 1, 4))] = chance.choice((*PIECES, b"", b"7"))
        entries = whole | {name: bytes(data)}
        relist(entries)
        store = folder.store()
        try:
            records_archive.restore_records(store, packed(entries, tmp_path / "b.zip"))
        except InvalidInput:
            assert not records_archive.holds_records(store)
            continue
        taken += 1
        first = exported(store, tmp_path / "c.zip")
        batteries.list_batteries(store, NOW.date())
        assert file_damages(store) == ()
        again = folder.store()
        records_archive.restore_records(again, tmp_path / "c.zip")
        assert exported(again, tmp_path / "d.zip") == first
    folder.close_all()
    assert 0 < taken < 60
