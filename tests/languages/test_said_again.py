import ast
from pathlib import Path

import pytest

from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import Language, Preferences, TemperatureShown
from app.ingest import (
    column_inference,
    discharge_selection,
    notes,
    opened_file,
    reader,
    row_filter,
    row_reader,
)
from app.ingest.reader import read_file
from app.ingest.temperatures import temperature_reader
from app.languages import kept_sentences
from app.languages.readers import reader_with
from app.languages.said_again import said_again
from tests.ingest import workbooks

GERMAN = reader_with(Preferences(language=Language.GERMAN)).read
LOG = b"time_s;current A;voltage V;spare A\n" + b"".join(
    f"{600 * i};{(0, 9, 9, 9, 9, 9, 0, 0)[i]};13,{9 - i}0;\n".encode() for i in range(8)
)


@pytest.mark.parametrize(
    ("kept", "german"),
    [
        (
            "Text in UTF-8, cells between semicolons, decimal comma.",
            "Text in UTF-8, Trennzeichen der Spalten: Strichpunkte, Dezimalkomma.",
        ),
        ("“Strom” is current in A.", "„Strom“ ist: Strom in A."),
        (
            "Only 1,200 of 100,000 readings came with the file: the log was thinned evenly.",
            "1\u202f200 von 100\u202f000",
        ),
        ("Nothing from 1 May 2024, 08:00 to 3 May 2024, 09:00 (2 days).", "1. Mai 2024, 08:00"),
        ("noted while it ran", "während"),
    ],
)
def test_a_stored_sentence_is_said_in_the_reader_s_language(kept, german):
    assert german in GERMAN(said_again(kept))


def test_everything_that_is_assumed_of_a_file_is_said_in_the_reader_s_language():
    said = read_file(LOG).assumptions
    stored = [str(one) for one in said]
    assert [GERMAN(said_again(one)) for one in stored] == [GERMAN(one) for one in said] != stored


def test_what_is_said_of_a_workbook_is_said_in_the_reader_s_language():
    table = (workbooks.HEADINGS, *workbooks.ROWS, ["Total", 54.9])
    said = read_file(workbooks.xlsx(*table, title="1.20")).assumptions
    assert "Sheet “1.20” was read, from row 1 on." in said
    assert GERMAN(said_again(said[0])) == "Das Tabellenblatt „1.20“ wurde gelesen, ab Zeile 1."
    assert [GERMAN(said_again(str(one))) for one in said] == [GERMAN(one) for one in said]


def test_a_stored_temperature_is_said_in_the_reader_s_unit():
    kept = "From 1 May 2024, 08:00 to 3 May 2024, 09:00 it is always 20 °C: is the sensor stuck?"
    reader = Reader(Preferences(temperature=TemperatureShown.FAHRENHEIT))
    assert "always 68 °F (20 °C)" in reader.read(said_again(kept))


@pytest.mark.parametrize("kept", ["Battery2024.csv", "Somebody wrote this once.", "12:00", ""])
def test_what_is_not_known_stays_as_it_was_stored(kept):
    assert GERMAN(said_again(kept)) == kept


def test_a_heading_that_looks_like_words_of_ours_stays_as_it_stood_in_the_file():
    kept = "“a” is time in seconds.” is current in A."
    assert GERMAN(said_again(kept)) == "„a” is time in seconds.“ ist: Strom in A."


@pytest.mark.parametrize(
    "module",
    [
        reader,
        notes,
        row_reader,
        column_inference,
        discharge_selection,
        opened_file,
        temperature_reader,
        row_filter,
    ],
)
def test_every_sentence_that_is_kept_of_a_file_is_known(module):
    called = ast.walk(ast.parse(Path(module.__file__).read_text()))
    texts = {
        node.args[0].value
        for node in called
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("say", "noted")
        and isinstance(node.args[0], ast.Constant)
    }
    sentences = {text for text in texts if text.endswith(".")}
    assert sentences <= set(kept_sentences.KEPT)
