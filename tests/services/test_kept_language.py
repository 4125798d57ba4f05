"""What is stored is in one language, whoever asked for it."""

from datetime import timedelta
from gettext import NullTranslations

import pytest

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import Language, Preferences
from app.domain.temperature_file import LogAnswers, TemperatureColumns
from app.services.entities import batteries, discharges, meters, places, runs
from app.services.exchange import export_file, import_file, temperature_import, upload_staging
from tests.builders import NOW, battery_details, discharge_details

LOG = b"time,current (A),voltage (V)\n" + b"".join(
    f"{hour}:00,9,{13.2 - 0.1 * hour:.2f}\n".encode() for hour in range(8)
)
WARM = b"time,temperature (C)\n" + b"".join(
    f"2024-05-01 {hour:02d}:00,{15 + hour}\n".encode() for hour in range(24)
)


class Marked(NullTranslations):
    """A language in which every text is the English one behind a mark."""

    def gettext(self, message: str) -> str:
        return f"§{message}"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"§{super().ngettext(msgid1, msgid2, n)}"


read = Reader(Preferences(language=Language.GERMAN), Marked()).read


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


def test_assumptions_are_read_in_the_reader_s_language_and_kept_in_one(store):
    source = upload_staging.stage(store, LOG).source
    assert all(read(sentence).startswith("§") for sentence in source.assumptions)
    assert source.assumptions[0] == "Text in UTF-8, cells separated by commas, decimal point."


def test_what_was_said_of_a_temperature_log_is_kept_in_one_language(store):
    place = places.add_place(store, PlaceDetails("locker"))
    name = temperature_import.stage(store, WARM)
    staged = temperature_import.look_at(
        store, place.id, name, TemperatureColumns(), LogAnswers(), None
    )
    assert all(read(sentence).startswith("§") for sentence in staged.seen.examined.said)
    temperature_import.store_staged(store, place.id, staged, "warm.csv", None, NOW)
    (log,) = places.show_place(store, place.id).logs
    assert log.said
    assert not any("§" in sentence for sentence in log.said)
    assert all(read(sentence).startswith("§") for sentence in log.said)


def test_a_run_becomes_a_test_whose_source_is_in_one_language(store, battery):
    begun = NOW - timedelta(hours=5)
    details = RunDetails(begun, 60, ChargeCondition.FULL_RESTED, 0, "lamps")
    run = runs.start_run(store, battery.id, details, MeterKind.SHUNT, begun)
    for hour in range(5):
        given = ReadingGiven(begun + timedelta(hours=hour), 9.0, 13.0 - 0.1 * hour)
        runs.note_reading(store, run.id, given, NOW)
    test = runs.end_run(store, run.id, EndReason.TIME, None)
    assert test.details.source == "noted while it ran"
    assert read(discharges.show_discharge(store, test.id).report.source) == "§noted while it ran"


def test_a_received_battery_is_kept_in_one_language(store, battery):
    discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)
    sent = export_file.battery_to_send(store, battery.id, NOW.date(), "0.1.0", demo=True)
    number = import_file.keep_received(store, sent, NOW)
    kept = batteries.get_battery(store, number).details
    assert kept.notes.startswith("Received on ")
    assert kept.notes.endswith("They are invented.")
    assert not any("§" in meter.details.name for meter in meters.list_meters(store))
    (test,) = batteries.show_battery(store, number, NOW.date()).report.tests
    assert read(discharges.show_discharge(store, test.id).report.source).startswith(
        "§a received file, as of §"
    )


def test_a_refusal_is_said_in_the_reader_s_language(store):
    with pytest.raises(InvalidInput, match="a preview that is no longer there") as refused:
        upload_staging.staged_path(store, "x")
    assert "§This is a preview that is no longer there" in read(refused.value.words)


def test_what_is_kept_in_memory_for_one_reader_is_not_shown_to_another(store, battery):
    """The result of a test, the trend, and a log of temperatures that waits for its preview."""
    details = discharge_details(charge_condition=ChargeCondition.UNKNOWN)
    test = discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    place = places.add_place(store, PlaceDetails("locker"))
    name = temperature_import.stage(store, WARM)

    def said():
        report = batteries.show_battery(store, battery.id, NOW.date()).report
        result = discharges.show_discharge(store, test.id).report
        columns, answers = TemperatureColumns(), LogAnswers()
        seen = temperature_import.look_at(store, place.id, name, columns, answers, None).seen
        return (result.caveats[0].text, report.fade.words, *seen.examined.said)

    assert not any("§" in sentence for sentence in said())
    assert all("§" in read(sentence) for sentence in said())
    assert not any("§" in sentence for sentence in said())
