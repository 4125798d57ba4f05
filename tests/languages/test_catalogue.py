"""The German catalogue holds exactly the texts of the program, each with a German that fits it."""

import re

from app.domain.i18n.preferences import Language
from app.languages.catalogue import file_of, read_catalogue
from tests.tools.gather_texts import gathered, said_texts, written

# What has to be the same in both: {places} with their formats, <tags>, places of charts.
_FIXED = re.compile(r"%?\{[^{}]*\}|</?\w+>")


def translations() -> dict[str, str]:
    return {str(one.id): str(one.string) for one in read_catalogue(Language.GERMAN) if one.id}


def test_the_catalogue_is_what_gathering_the_texts_gives():
    fresh = written(gathered(Language.GERMAN))
    assert fresh == file_of(Language.GERMAN).read_bytes(), "run python -m tests.tools.gather_texts"


def test_no_text_is_without_a_german():
    known = translations()
    missing = {text: files for text, files in said_texts().items() if not known.get(text)}
    assert not missing


def test_places_their_formats_and_tags_are_the_same_in_both_languages():
    differing = {
        text: german
        for text, german in translations().items()
        if german and sorted(_FIXED.findall(text)) != sorted(_FIXED.findall(german))
    }
    assert not differing


def test_a_text_does_not_begin_or_end_with_other_spaces_in_german():
    def spaces(text: str) -> tuple[int, int]:
        return len(text) - len(text.lstrip()), len(text) - len(text.rstrip())

    differing = {
        text: german
        for text, german in translations().items()
        if german and spaces(text) != spaces(german)
    }
    assert not differing


def test_german_quotes_and_decimal_commas_stand_in_german():
    """Numbers in a text are written out; numbers of standards and versions keep their points."""
    decimal = re.compile(r"(?<![\d.,-])\d+\.\d+(?=[ ·°/–]|$)(?! °[EN])")
    wrong = {
        german
        for german in translations().values()
        if german != "ein Punkt, 12.8"
        and (
            "“" in re.sub(r"„[^„“]*“", "", german)
            or '"' in german
            or decimal.search(_prose(german))
        )
    }
    assert not wrong


def _prose(german: str) -> str:
    """Without the clauses of standards, identifiers, places and what is typed."""
    cited = r"(IEC|ISO|GOST|JCGM|ILAC|IEEE|doi)[^;)]*|<code>.*?</code>|\{[^{}]*\}|\d+\.\d+\.\d+\S*"
    return re.sub(cited, "", german)


def test_texts_of_templates_of_expressions_in_them_and_of_the_code_are_gathered():
    assert {"None yet.", "Nothing was stored yet.", "Jan"} <= set(said_texts())


def test_a_file_to_send_is_not_translated():
    assert not any("battery_file.html" in file for files in said_texts().values() for file in files)
