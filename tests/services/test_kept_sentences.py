"""What the program says of a test is kept so that everybody reads it in their language later."""

import csv
import json
import zipfile
from array import array
from dataclasses import replace

import pytest

from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails
from app.domain.i18n.message import Celsius, Message, say
from app.domain.i18n.preferences import Language, Preferences
from app.domain.records.revision import EntityKind
from app.domain.temperature_log import HourlyTemperatures
from app.languages.readers import reader_with
from app.services.entities import batteries, discharges, doubts, history, places
from app.services.exchange import upload_staging
from app.services.exchange.records_archive import export_records, restore_records
from app.storage.database.engine import read_session
from app.storage.repositories import discharges as stored_discharges
from tests.archives import empty_store
from tests.builders import NOW, battery_details, discharge_details, steady

german = reader_with(Preferences(language=Language.GERMAN)).read
LOG = b"time,current (A),voltage (V)\n" + b"".join(
    f"{hour}:00,9,{13.2 - 0.1 * hour:.2f}\n".encode() for hour in range(8)
)
WARM = (say("From {low:.0f} to {high:.1f}", low=Celsius(-1.0), high=Celsius(3.5)), "“−1”")
WRITTEN = "Somebody wrote: “this”."


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


@pytest.fixture
def tested(store, battery):
    """One whose readings come from a file, with what was assumed of it."""
    source = upload_staging.stage(store, LOG).source
    details = replace(
        discharge_details(source.readings),
        source=say("pasted"),
        assumptions=(*source.assumptions, WRITTEN),
    )
    return discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def edit(store, test, **changes):
    details = replace(test.details, **changes)
    discharges.change_discharge(store, test.id, details, MeterKind.SHUNT, NOW, seen=test.version)


def report_of(store, test):
    return discharges.show_discharge(store, test.id).report


def plain(sentences):
    return [str(one) for one in sentences]


def test_what_was_assumed_of_a_file_is_read_in_german_from_the_store(store, tested):
    report = report_of(store, tested)
    assert report.assumptions[0] == "Text in UTF-8, cells separated by commas, decimal point."
    said = [german(one) for one in report.assumptions]
    assert said[0] == "Text in UTF-8, Trennzeichen der Spalten: Kommas, Dezimalpunkt."
    assert said[-1] == WRITTEN
    assert [one for one in said if one in report.assumptions] == [WRITTEN]
    assert (report.source, german(report.source)) == ("pasted", "eingefügt")


def test_what_an_edit_replaced_is_read_in_german(store, tested):
    edit(store, tested, source=say("typed"), assumptions=())
    (change,) = history.show_history(store, EntityKind.DISCHARGE, tested.id).edits
    by_label = {one.label: one for one in change.changes}
    assert german(by_label["Source"].before) == "„eingefügt“"
    assert "Trennzeichen der Spalten" in german(by_label["Assumptions"].before)
    past = history.bring_back(store, EntityKind.DISCHARGE, tested.id, change.number, 2, NOW)
    assert past.entered.assumptions == tested.details.assumptions
    assert isinstance(past.entered.source, Message)


@pytest.mark.parametrize("name", ['{"text": "a"}', '{"text": 5, "values": {}}', "[]", '"a"', "{a}"])
def test_the_name_of_a_file_is_no_sentence(store, tested, name):
    edit(store, tested, source=name)
    assert report_of(store, tested).source == name


def test_a_sentence_too_long_for_a_line_is_kept_in_english(store, tested):
    said = say("a received file, as of {as_of}", as_of="x" * 150)
    edit(store, tested, source=said)
    kept = report_of(store, tested).source
    assert kept == said
    assert not isinstance(kept, Message)


@pytest.mark.parametrize("how", [str, lambda said: said])
def test_an_answer_is_known_again_kept_as_a_string_or_a_message(store, battery, how):
    details = discharge_details(steady(hours=10, amps=90.0))
    test = discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    with read_session(store.engine) as session:
        (question,) = doubts.open_questions(test, battery, (test,))
        answered = doubts.with_answers(test.details, (question,))
        edit(store, test, assumptions=tuple(map(how, answered.assumptions)))
        stored = stored_discharges.get(session, test.id)
    assert doubts.open_questions(stored, battery, (stored,)) == ()


@pytest.fixture
def records(store, tested, tmp_path):
    """An archive of a test with an edit and of a log of temperatures."""
    edit(store, tested, notes="more")
    place = places.add_place(store, PlaceDetails("locker"))
    hourly = HourlyTemperatures(NOW.date(), array("d", [5.0] * 24))
    places.add_log(store, place.id, "warm.csv", WARM, hourly, NOW, gives_way=False)
    made = tmp_path / "records.zip"
    export_records(store, made)
    return made


def rows(records, table):
    with zipfile.ZipFile(records) as archive:
        lines = archive.read(f"tables/{table}.csv").decode().splitlines()
    return list(csv.DictReader(lines))


def test_an_archive_holds_the_english_sentences_letter_by_letter_as_ever(records, tested):
    assumptions = json.dumps(plain(tested.details.assumptions))
    (test,), (log,) = rows(records, "discharge"), rows(records, "temperature_log")
    assert (test["source"], test["assumptions"]) == ("pasted", assumptions)
    assert log["said"] == json.dumps(plain(WARM), ensure_ascii=False)
    (edited,) = rows(records, "revision")
    before = json.loads(edited["before"])
    assert (before["source"], before["assumptions"]) == ("pasted", assumptions)


def test_an_archive_is_the_same_in_the_records_it_came_from_and_in_others(store, records, tmp_path):
    merged = restore_records(store, records, merge=True)
    assert sum(count.new + count.differing + count.left_out for count in merged.counts) == 0
    other = empty_store(tmp_path / "other")
    restore_records(other, records)
    again = tmp_path / "again.zip"
    export_records(other, again)
    other.engine.dispose()
    assert again.read_bytes() == records.read_bytes()
