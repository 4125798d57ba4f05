"""The page for scripts and devices says what the application's own OpenAPI document says."""

import json
from dataclasses import replace

import pytest

from app.web.api.run_feed import SentReadings
from app.web.rendering.interface import read_interface
from tests.web.conftest import soup


@pytest.fixture
def shown(client):
    return soup(client.get("/help/scripts"))


def test_every_operation_is_there_with_what_it_is_for(app, shown):
    documented = app.openapi()["paths"]
    asked = [
        f"{method.upper()} {path}" for path, methods in documented.items() for method in methods
    ]
    assert [one.text for one in shown.select("h3 code")] == asked
    for methods in documented.values():
        for told in methods.values():
            assert told["description"].partition("\n")[0] in shown.text


def test_every_field_of_the_document_is_there(app, shown):
    schemas = app.openapi()["components"]["schemas"]
    named = {one.text for one in shown.select("dt code")}
    assert named >= {name for one in schemas.values() for name in one.get("properties", {})}


def test_a_field_has_its_type_unit_and_meaning(shown):
    feed = shown.find(id="post-api-runs-run_id-readings").parent
    fields = {one.dt.text: " ".join(one.dd.text.split()) for one in shown.select("dl.facts > div")}
    assert fields["current_a"].startswith("number, A In amps, positive while the battery is dis")
    assert fields["voltage_v"].startswith("number or null, V")
    assert "bearer token" in feed.text
    assert "422" in feed.text


def test_each_part_that_is_pointed_at_is_there(shown):
    pointed = {one["href"].removeprefix("#") for one in shown.select("dd a[href^='#']")}
    assert pointed
    assert pointed <= {one["id"] for one in shown.select("[id]")}
    numbers = [one["id"] for one in shown.select("[id]")]
    assert len(numbers) == len(set(numbers))


def test_the_example_of_a_body_is_one_that_is_taken(shown):
    body = json.loads(shown.select_one("pre.sample").text)
    assert SentReadings.model_validate(body).readings[0].current_a == 9


def test_nothing_comes_from_elsewhere(shown):
    for one in shown.select("[src], link[href]"):
        assert one.get("src", one.get("href")).startswith("/static/")


def test_null_is_called_what_json_calls_it(shown):
    assert "None" not in shown.main.text


def test_help_and_the_page_of_a_run_lead_there(client, run):
    for path in ("/help", run):
        assert soup(client.get(path)).select("a[href='/help/scripts']")


def test_the_address_is_the_one_that_others_reach(app, client):
    app.state.settings = replace(app.state.settings, public_address="https://club.example")
    lines = [one.text for one in soup(client.get("/help/scripts")).select(".typed code")]
    assert all("https://club.example/" in line for line in lines)


def test_a_document_may_describe_what_has_no_fields():
    told = {"description": "Plain.", "responses": {"200": {"description": "A number."}}}
    read = read_interface({"openapi": "3.1.0", "paths": {"/x": {"get": told}}})
    assert (read.operations[0].answer, read.parts, read.refused) == (None, (), None)
