"""Readings of many tests in few files: out, back, and what is wrong with them told."""

import csv
import io
import json
from datetime import timedelta
from pathlib import Path

import pytest

from app.archive import writer
from app.archive.reader import open_archive
from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges
from app.services.exchange import records_archive
from app.services.exchange.file_contents import read_sent
from app.storage.database.engine import read_session
from app.storage.records.binary_columns import all_readings
from tests.archives import empty_store, entries_of, exported, packed, relist, spoiled
from tests.builders import NOW, battery_details, discharge_details, steady

FORMAT_1 = Path(__file__).parent / "format_1"
FIRST, SECOND, THIRD = "readings/0001.csv", "readings/0002.csv", "readings/0003.csv"
# So many readings has each test; with 10 rows a file: 3 and 4, then 12 alone, then 5 and 2.
ROWS = (3, 4, 12, 5, 2)


@pytest.fixture
def shared(tmp_path, monkeypatch):
    """An archive of five tests in three files of readings."""
    monkeypatch.setattr(writer, "MAX_SHARED_ROWS", 10)
    store = empty_store(tmp_path / "home")
    battery = batteries.add_battery(store, battery_details())
    for number, rows in enumerate(ROWS):
        details = discharge_details(steady(rows - 1), days_ago=100 - number)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    exported(store, tmp_path / "shared.zip")
    store.engine.dispose()
    return tmp_path / "shared.zip"


def rows_of(entries, path):
    return list(csv.reader(io.StringIO(entries[path].decode(), newline="")))


def rewrite(entries, path, rows):
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    entries[path] = text.getvalue().encode()


def names_in(entries):
    header, *rows = rows_of(entries, "tables/discharge.csv")
    return [row[header.index("uid")] for row in rows]


def readings_by_test(store):
    with read_session(store.engine) as session:
        return {uid: one.digest for uid, one in all_readings(session)}


def test_tests_share_files_up_to_a_bound_and_none_is_torn(shared):
    entries = entries_of(shared)
    names = names_in(entries)
    held = [[row[0] for row in rows_of(entries, path)[1:]] for path in (FIRST, SECOND, THIRD)]
    assert held == [
        [names[0]] * 3 + [names[1]] * 4,
        [names[2]] * 12,
        [names[3]] * 5 + [names[4]] * 2,
    ]
    assert "readings/0004.csv" not in entries
    assert rows_of(entries, FIRST)[0] == [
        "test",
        "elapsed_s",
        "current_a",
        "voltage_v",
        "temperature_c",
        "gauge_percent",
        "counted_ah",
    ]


def test_the_schema_leads_from_a_reading_to_its_test(shared):
    schema = json.loads(entries_of(shared)["readings/schema.json"])
    assert schema["fields"][0]["name"] == "test"
    assert schema["foreignKeys"] == [
        {"fields": "test", "reference": {"resource": "discharge", "fields": "uid"}}
    ]


def test_they_come_back_byte_for_byte(shared, tmp_path):
    other = empty_store(tmp_path / "other")
    records_archive.restore_records(other, shared)
    assert exported(other, tmp_path / "b.zip") == shared.read_bytes()
    other.engine.dispose()


def test_they_are_merged_by_lasting_name_where_some_are_there_already(shared, tmp_path):
    other = empty_store(tmp_path / "other")
    records_archive.restore_records(other, shared)
    names = readings_by_test(other)
    changed = discharge_details(steady(6), days_ago=98)
    discharges.change_discharge(other, 3, changed, 1, NOW + timedelta(days=1))
    batteries.add_battery(other, battery_details(name="another"))
    report = records_archive.restore_records(other, shared, merge=True)
    (tests,) = (one for one in report.counts if one.title == "Capacity tests")
    assert (tests.new, tests.same, tests.differing) == (0, 4, 1)
    (found,) = (c for c in report.conflicts if "Readings" in c.sentence)
    assert "Readings: here 7 rows, in the archive 12 rows" in found.sentence
    kept = readings_by_test(other)
    assert sum(kept[name] != names[name] for name in names) == 1
    other.engine.dispose()


def moved(path, at, to):
    """A test's rows put elsewhere."""

    def spoil(entries):
        rows = rows_of(entries, path)
        rewrite(entries, path, [rows[0], *rows[at:to], *rows[1:at], *rows[to:]])

    return spoil


def without(path, at, to):
    def spoil(entries):
        rows = rows_of(entries, path)
        rewrite(entries, path, rows[:at] + rows[to:])

    return spoil


def again(path):
    """The first test of a file once more, at the end of the last file."""

    def spoil(entries):
        rows = rows_of(entries, THIRD)
        first = rows_of(entries, path)[1]
        rewrite(entries, THIRD, [*rows, first])

    return spoil


def renamed(path, row, name):
    def spoil(entries):
        rows = rows_of(entries, path)
        rows[row][0] = name
        rewrite(entries, path, rows)

    return spoil


def dropped(path):
    return lambda entries: entries.pop(path)


def without_test(number):
    """Its line in the table is gone, its readings are there."""

    def spoil(entries):
        rows = rows_of(entries, "tables/discharge.csv")
        rewrite(entries, "tables/discharge.csv", rows[:number] + rows[number + 1 :])

    return spoil


@pytest.mark.parametrize(
    ("spoil", "match"),
    [
        (moved(FIRST, 4, 8), r"0001\.csv, row 1, test”: “[0-9a-f]{32}” .* in the order"),
        (without(FIRST, 1, 4), r"0001\.csv, row 1, test”: “"),
        (
            without(THIRD, 6, 8),
            r"“no readings of [0-9a-f]{32}” does not fit. It needs those of every test",
        ),
        (dropped(SECOND), r"0003\.csv, row 1, test”: “"),
        (dropped(THIRD), r"no readings of [0-9a-f]{32}"),
        (again(FIRST), r"0003\.csv, row 8, test”: .* It needs no readings after the last test"),
        (again(THIRD), r"0003\.csv, row 8, test”: .* It needs no readings after the last test"),
        (
            renamed(FIRST, 2, "f" * 32),
            r"0001\.csv, row 2, test”: “f{32}” does not fit. It needs [0-9a-f]",
        ),
        (renamed(FIRST, 1, ""), r"0001\.csv, row 1, test”: "),
        (renamed(SECOND, 12, "f" * 32), r"0002\.csv, row 12, test”: “f{32}”"),
        (without_test(3), r"0002\.csv, row 1, test”: “"),
        (without_test(5), r"0003\.csv, row 6, test”: .* It needs no readings after the last"),
    ],
)
def test_readings_of_no_test_missing_double_or_out_of_order_are_refused(
    shared, tmp_path, refused, spoil, match
):
    refused(spoiled(shared, tmp_path / "b.zip", spoil), match)


def test_a_part_that_an_export_would_have_filled_up_further_is_as_good(shared, tmp_path):
    """Where one file ends is the writer's choice, not a rule for the reader."""

    def split(entries):
        rows = rows_of(entries, FIRST)
        rewrite(entries, "readings/0004.csv", rows_of(entries, THIRD))
        rewrite(entries, THIRD, rows_of(entries, SECOND))
        rewrite(entries, FIRST, rows[:4])
        rewrite(entries, SECOND, [rows[0], *rows[4:]])

    path = spoiled(shared, tmp_path / "b.zip", split)
    other = empty_store(tmp_path / "other")
    records_archive.restore_records(other, path)
    assert exported(other, tmp_path / "c.zip") == shared.read_bytes()
    other.engine.dispose()


def test_an_archive_of_before_tests_shared_files_is_brought_back(tmp_path):
    """A real one, of three tests: 20, 5 and 5 readings, and 11 that an edit replaced."""
    entries = entries_of(FORMAT_1 / "records.zip")
    held = {
        path.removeprefix("readings/").removesuffix(".csv"): rows_of(entries, path)[1:]
        for path in entries
        if path.startswith("readings/") and path.endswith(".csv")
    }
    assert sorted(map(len, held.values())) == [5, 5, 20]
    store = empty_store(tmp_path / "back")
    assert records_archive.restore_records(store, FORMAT_1 / "records.zip").conflicts == ()
    with read_session(store.engine) as session:
        for uid, one in all_readings(session):
            rows = held.pop(uid)
            assert list(one.elapsed_s) == [float(row[0]) for row in rows]
            assert list(one.voltage_v) == [float(row[2]) for row in rows]
    assert held == {}
    # Now it goes out as the records of today do, and nothing of it differs.
    exported(store, tmp_path / "new.zip")
    names = [path for path in entries_of(tmp_path / "new.zip") if path.startswith("readings/")]
    assert names == ["readings/schema.json", FIRST]
    assert records_archive.look_at_archive(store, FORMAT_1 / "records.zip").conflicts == ()
    assert records_archive.look_at_archive(store, tmp_path / "new.zip").new == 0
    store.engine.dispose()


def test_the_data_of_a_file_sent_before_are_read(tmp_path):
    sent = read_sent(FORMAT_1 / "sent.zip")
    assert [len(one.test.details.readings) for one in sent.tests] == [5, 20]
    assert sent.details.rated_ah == 101.0


def test_a_test_without_its_file_is_refused_in_an_archive_of_before(tmp_path, refused):
    entries = entries_of(FORMAT_1 / "records.zip")
    del entries[next(path for path in entries if path.startswith("readings/") and "csv" in path)]
    relist(entries)
    refused(packed(entries, tmp_path / "b.zip"), r"no readings/[0-9a-f]{32}\.csv")


def test_one_test_at_a_time_is_in_memory(shared):
    """What is asked for is read as far as it was asked for."""
    with open_archive(shared) as archive:
        names = names_in(entries_of(shared))
        rows = archive.with_readings({"uid": name} for name in names)
        assert len(next(rows)["readings"]) == 3
        assert len(next(rows)["readings"]) == 4
        rows.close()
