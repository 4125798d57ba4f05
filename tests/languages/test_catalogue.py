"""The German catalogue holds exactly the texts of the program, each with a German that fits it."""

import re
import shutil
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.catalog import Message
from babel.messages.frontend import CommandLineInterface
from jinja2 import nodes

from app.domain.i18n.preferences import Language
from app.languages.catalogue import file_of, read_catalogue, texts_in
from app.settings import TEMPLATES
from app.web.rendering.rendering import environment

ROOT = Path(__file__).parents[2]
# What has to be the same in both: {places} with their formats, %(places)s, elements, places of
# charts.
_FIXED = re.compile(r"%?\{[^{}]*\}|%\(\w+\)s|</?\w[^<>]*>")
# A place with the unit of the number that stands there.
_WITH_UNIT = re.compile(
    r"(\{\w+|%\(\w+)(?::[^{}]*)?(?:\}|\)s) (%|Ah|Wh|kWh|V|A|h|min|K|°C|MB|GB)(?![\w-])"
)


def messages() -> list[Message]:
    return [one for one in read_catalogue(Language.GERMAN) if one.id]


def translations() -> list[tuple[str, str]]:
    """English and German of every text, and of each of its forms."""
    return [
        pair
        for one in messages()
        for pair in (
            zip(one.id, one.string, strict=True) if one.pluralizable else [(one.id, one.string)]
        )
    ]


def without_version(file: Path) -> list[str]:
    """The lines of a catalogue but the one that says which Babel wrote it."""
    lines = file.read_text(encoding="utf-8").splitlines()
    return [line for line in lines if not line.startswith('"Generated-By: ')]


def test_the_catalogue_is_what_pybabel_makes_of_the_texts_of_the_program(tmp_path, monkeypatch):
    monkeypatch.chdir(ROOT)
    texts, updated = str(tmp_path / "texts.pot"), tmp_path / "de.po"
    shutil.copy(file_of(Language.GERMAN), updated)
    CommandLineInterface().run(["pybabel", "--quiet", "extract", "-o", texts])
    CommandLineInterface().run(["pybabel", "--quiet", "update", "-i", texts, "-o", str(updated)])
    kept = without_version(file_of(Language.GERMAN))
    assert without_version(updated) == kept, "run pybabel extract && pybabel update"


def test_no_text_is_without_a_german_or_with_one_that_is_a_guess():
    assert [english for english, german in translations() if not german] == []
    assert [one.id for one in messages() if one.fuzzy] == []
    assert not read_catalogue(Language.GERMAN).obsolete


def test_a_number_keeps_its_unit_in_german():
    lost = {
        english: set(_WITH_UNIT.findall(english)) - set(_WITH_UNIT.findall(german))
        for english, german in translations()
    }
    assert {english: units for english, units in lost.items() if units} == {}


def test_places_their_formats_and_elements_are_the_same_in_both_languages():
    differing = {
        english: german
        for english, german in translations()
        if sorted(_FIXED.findall(english)) != sorted(_FIXED.findall(german))
    }
    assert not differing


def marked_texts() -> Iterator[str]:
    """What templates give to gettext and ngettext, with its places."""
    for name in environment.list_templates():
        source, _, _ = environment.loader.get_source(environment, name)
        for call in environment.parse(source).find_all(nodes.Call):
            called = getattr(call.node, "name", "")
            if called in ("_", "gettext", "ngettext", "pgettext"):
                # The first of pgettext is a context.
                texts = call.args[called == "pgettext" : 2]
                yield from (one.value for one in texts if isinstance(one, nodes.Const))


def test_values_can_be_put_into_the_german_of_what_templates_mark():
    german, known = dict(translations()), 0
    for text in marked_texts():
        known += 1
        # Raises for a percent sign that is not doubled.
        german[text] % defaultdict(str)
    assert known > 1000


def test_a_text_does_not_begin_or_end_with_other_spaces_in_german():
    def spaces(text: str) -> tuple[int, int]:
        return len(text) - len(text.lstrip()), len(text) - len(text.rstrip())

    differing = {
        english: german for english, german in translations() if spaces(english) != spaces(german)
    }
    assert not differing


def test_german_quotes_and_decimal_commas_stand_in_german():
    """Numbers in a text are written out; numbers of standards and versions keep their points."""
    decimal = re.compile(r"(?<![\d.,-])\d+\.\d+(?=[ ·°/–]|$)(?! °[EN])")
    wrong = {
        german
        for _, german in translations()
        if german != "ein Punkt, 12.8"
        and (
            "“" in re.sub(r"„[^„“]*“", "", german)
            or '"' in re.sub(r"</?\w[^<>]*>", "", german)
            or decimal.search(_prose(german))
        )
    }
    assert not wrong


def _prose(german: str) -> str:
    """Without the clauses of standards, identifiers, places and what is typed."""
    cited = r"(IEC|ISO|GOST|JCGM|ILAC|IEEE|doi)[^;)]*|<code>.*?</code>|\{[^{}]*\}|\d+\.\d+\.\d+\S*"
    return re.sub(cited, "", german)


@pytest.mark.parametrize(
    "text",
    [
        "None yet.",  # in a template
        "Nothing was stored yet.",  # in an expression of one
        "Store, and back up there",  # in one of the folder _partials
        "Main",  # in an attribute
        "Jan",  # in the code
        "1 photo",  # with a form for many
        "As for lithium iron phosphate: Energies 2022 15:2825, doi 10.3390/en15082825.",  # data
    ],
)
def test_texts_of_templates_of_expressions_in_them_of_the_code_and_of_data_are_found(text):
    assert text in dict(translations())


def test_forms_for_one_and_many_are_chosen_by_the_rule_of_the_catalogue():
    one, many = "1 photo", "{count} photos"
    german = texts_in(Language.GERMAN)
    chosen = [german.ngettext(one, many, count) for count in (0, 1, 2)]
    assert chosen == ["{count} Fotos", "1 Foto", "{count} Fotos"]


def test_a_file_to_send_is_not_translated():
    assert (TEMPLATES / "battery_file.html").is_file()
    files = {file for one in messages() for file, _ in one.locations}
    assert "templates/battery.html" in files
    assert "templates/battery_file.html" not in files
