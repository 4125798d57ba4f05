"""The page for scripts is German for who reads German: all but the names of fields and types."""

from app.domain.i18n.preferences import Language
from app.languages.catalogue import read_interface_catalogue
from app.web.rendering.interface import Part, read_interface
from tests.web.conftest import soup

GERMAN = {"accept-language": "de-DE,de;q=0.9,en;q=0.5"}


def meanings(app):
    """Every English text of the document that the page shows."""
    read = read_interface(app.openapi())
    parts: list[Part | None] = [*read.parts, read.refused]
    for one in read.operations:
        parts += [*one.body, one.answer]
        yield from one.meaning
        yield from (value.meaning for value in one.parameters)
        yield from (refusal.meaning for refusal in one.refusals)
    for part in parts:
        if part is not None:
            yield part.meaning
            yield from (value.meaning for value in part.values)


def test_the_catalogue_of_the_interface_holds_exactly_what_its_page_shows(app):
    catalogue = read_interface_catalogue(Language.GERMAN)
    german = {one.id: one.string for one in catalogue if one.id}
    assert {str(one) for one in meanings(app) if one} == german.keys()
    assert all(german.values())


def test_what_a_field_takes_and_means_is_german(client):
    page = soup(client.get("/help/scripts", headers=GERMAN))
    fields = {one.dt.text: " ".join(one.dd.text.split()) for one in page.select("dl.facts > div")}
    assert "In Ampere, positiv beim Entladen" in fields["current_a"]
    assert fields["voltage_v"].startswith("number oder null, V")
    assert "höchstens 80 Zeichen" in fields["find"]
    assert not page.select("p[lang=en], dd[lang=en]")
