"""Whoever just asks for the address of a form comes to the page of the form."""

import pytest

from app.web.rendering.page_of_form import PAGES
from tests.routes import every_route
from tests.web.conftest import soup


@pytest.mark.parametrize(
    ("address", "page"),
    [
        ("/batteries/1/discharges", "/batteries/1/discharges/new"),
        ("/batteries/1/events", "/batteries/1"),
        ("/batteries/1/runs", "/batteries/1/runs/new"),
        ("/batteries/1/shares", "/batteries/1/share"),
        ("/discharges/1/left-out", "/discharges/1"),
        ("/discharges/1/photos", "/discharges/1"),
        ("/runs/7/readings/3/answer", "/runs/7"),
        ("/history/battery/1/2", "/history/battery/1"),
        ("/bin/battery/1", "/bin"),
        ("/records/export", "/records"),
    ],
)
def test_the_address_of_a_form_leads_to_its_page(client, tested, address, page):
    answer = client.get(address, follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, page)


def test_every_form_without_a_page_of_its_own_has_one_to_lead_to(app):
    routes = list(every_route(app))
    shown = {one.path for one in routes if "GET" in one.methods}
    taking = {one.path for one in routes if "POST" in one.methods} - shown
    ours = {one for one in taking if not one.startswith(("/api/", "/example"))}
    # The page of a photo's caption is that of its test, which the address does not name.
    assert ours - set(PAGES) == {"/photos/{photo_id}"}
    assert set(PAGES) <= taking
    assert set(PAGES.values()) <= shown


def test_other_ways_of_asking_are_refused_in_our_words(client, tested):
    refused = client.get("/photos/1")
    assert refused.status_code == 405
    assert "only accepts its own form" in soup(refused).main.text
    assert client.delete("/batteries").status_code == 405
