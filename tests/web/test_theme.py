import gzip
import io
import json
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from PIL import Image, ImageChops

from app.services.access import shares
from app.settings import STATIC
from app.web.rendering.assets import STYLE_SHEETS
from tests.builders import NOW
from tests.tools.build_icons import ICONS, icon
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database


def chosen(client, look, back="/"):
    data = {"look": look, "back": back}
    return client.post("/look", data=data, follow_redirects=False)


def test_a_look_is_kept_in_this_browser_and_worn_by_every_page(client, battery):
    answer = chosen(client, "sunlight", f"/batteries/{battery.id}")
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/batteries/{battery.id}"
    assert "samesite=lax" in answer.headers["set-cookie"].lower()
    for path in ("/", f"/batteries/{battery.id}", "/method", "/nothing"):
        assert soup(client.get(path)).html["data-look"] == "sunlight"


def test_as_the_device_takes_the_choice_back(client):
    chosen(client, "dark")
    chosen(client, "auto")
    assert "data-look" not in soup(client.get("/")).html.attrs
    assert "look" not in client.cookies


def test_the_switch_works_without_script_and_says_what_is_worn(client):
    chosen(client, "dark")
    form = soup(client.get("/meters?x=1&done=bin.meter.1")).select_one("form.look")
    assert form["method"] == "post"
    assert form.select_one("[name=back]")["value"] == "/meters?x=1"
    pressed = [b["value"] for b in form.select("button") if b["aria-pressed"] == "true"]
    assert pressed == ["dark"]


@pytest.mark.parametrize(
    "back", ["//elsewhere.example/", "/\\elsewhere.example", "https://e.example"]
)
def test_the_switch_leads_to_no_other_server(client, back):
    assert chosen(client, "dark", back).headers["location"] == "/"


def test_a_look_that_does_not_exist_is_refused_with_its_value_and_those_there_are(client):
    answer = chosen(client, "purple")
    assert answer.status_code == 422
    assert "purple" in answer.text
    assert "sunlight" in answer.text


def test_a_cookie_that_was_tampered_with_is_no_look(client):
    client.cookies.set("look", '"><b>')
    assert "data-look" not in soup(client.get("/")).html.attrs


def test_a_page_that_answers_a_form_does_not_lead_back_into_nothing(client):
    page = soup(client.post("/batteries", data={"name": ""}))
    assert not page.select("form.look")


@pytest.fixture
def shared_path(store, tested):
    return f"/shared/{shares.share_battery(store, tested.id, '', None, NOW).token}"


def test_a_shared_page_follows_the_device_alone(client, shared_path):
    chosen(client, "dark")
    answer = client.get(shared_path)
    page = soup(answer)
    assert "data-look" not in page.html.attrs
    assert not page.select("form.look, link[rel=manifest], link[rel=apple-touch-icon]")
    assert "set-cookie" not in answer.headers
    schemes = [meta["media"] for meta in page.select("meta[name=theme-color]")]
    assert schemes == ["(prefers-color-scheme: light)", "(prefers-color-scheme: dark)"]


def test_another_device_cannot_choose_and_is_offered_nothing(app):
    with TestClient(app, base_url="http://127.0.0.1", client=("192.0.2.7", 5000)) as stranger:
        assert chosen(stranger, "dark").status_code == 403
        for path in ("/method", "/"):
            assert not soup(stranger.get(path)).select("form.look, link[rel=manifest]")


def test_the_navigation_marks_where_one_is(client, tested):
    for path, label, value in (
        ("/", "Batteries", "page"),
        (f"/batteries/{tested.id}", "Batteries", "true"),
        ("/discharges/1", "Batteries", "true"),
        ("/comparison", "Compare", "page"),
        ("/settings", "Settings", "page"),
        ("/places/new", "Settings", "true"),
        ("/bin", "Settings", "true"),
        ("/help", "Help", "page"),
        ("/words", "Help", "true"),
    ):
        marked = soup(client.get(path)).select("nav[aria-label=Main] [aria-current]")
        assert [(a.text, a["aria-current"]) for a in marked] == [(label, value)], path


def test_the_page_can_be_put_on_a_home_screen(client):
    link = soup(client.get("/")).select_one("link[rel=manifest]")["href"]
    answer = client.get(link)
    assert answer.headers["content-type"].startswith("application/manifest+json")
    assert "manifest-src 'self'" in answer.headers["content-security-policy"]
    manifest = json.loads(answer.text)
    for one in manifest["icons"]:
        got = client.get(f"/static/{one['src']}")
        assert got.headers["content-type"] == one["type"]
        if one["type"] == "image/png":
            width, height = Image.open(io.BytesIO(got.content)).size
            assert f"{width}x{height}" == one["sizes"]


@pytest.mark.parametrize(("name", "pixels", "whole"), ICONS)
def test_the_icons_are_what_the_script_draws(name, pixels, whole):
    drawn = icon(pixels, whole).convert("RGBA")
    stored = Image.open(STATIC / name).convert("RGBA")
    # The stored one has few colours, to be small.
    assert max(high for _, high in ImageChops.difference(drawn, stored).getextrema()) < 64


def test_what_travels_before_the_chart_library_is_small(client, tested):
    for path in ("/", f"/batteries/{tested.id}", f"/batteries/{tested.id}/curves", "/discharges/1"):
        answer = client.get(path)
        page = soup(answer)
        addresses = [link["href"] for link in page.select("link[href^='/static/']")]
        addresses += [s["src"] for s in page.select("script[src]") if "library" not in s["src"]]
        size = len(answer.content) + sum(len(client.get(one).content) for one in addresses)
        assert size < 200_000, path


def test_the_answer_stands_before_any_chart_or_list_of_ways(client, tested):
    main = soup(client.get(f"/batteries/{tested.id}")).main
    order = [one.get("class", [""])[0] for one in main.select(".glance, .facts, .ways, .chart")]
    assert order[0] == "glance"
    assert "Ah" in main.select_one(".glance dd").text


def test_the_looks_of_the_device_are_all_regarded():
    sheets = "".join(Path(STATIC / name).read_text() for name in STYLE_SHEETS)
    for question in (
        "prefers-color-scheme: dark",
        "prefers-contrast: more",
        "forced-colors: active",
        "prefers-reduced-motion",
    ):
        assert question in sheets
    assert len(gzip.compress(sheets.encode())) < 20_000
