"""Requests that another site makes a browser send: what Origin and the form's word say."""

import pytest

from app.services.access import auth
from app.services.entities import batteries
from tests.builders import battery_details
from tests.conftest import here
from tests.routes import every_route
from tests.web.auth_client import CLUB, HERE, away, sign_in, soup, token_on

pytestmark = pytest.mark.any_database

OTHER_SITE = "This request came from another site. Nothing was changed."
PAGES = ("/", "/batteries/new", "/batteries/1", "/batteries/1/discharges/new", "/discharges/1")
PAGES += ("/discharges/1/edit", "/batteries/1/share", "/batteries/1/heat", "/meters", "/places/new")
PAGES += ("/preferences", "/records", "/records/restore", "/received", "/bin", "/door", "/sign-in")


def add(client, **headers):
    token = token_on(client)
    return client.post("/meters", data={"form_token": token}, headers=headers).status_code


@pytest.mark.parametrize(
    "origin",
    ["https://evil.example", "null", "http://192.168.1.7:9000", "http://192.168.1.7", "garbage"],
)
def test_a_form_of_another_origin_is_refused_although_the_session_comes_with_it(phone, origin):
    assert add(phone) == 422
    assert add(phone, Origin=origin) == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_form_that_the_browser_says_is_another_site_s_is_refused(phone, client, site):
    # The same name with another port is the same site for a cookie, but no page of ours.
    assert add(phone, **{"Sec-Fetch-Site": site}) == 403
    assert client.post("/meters", headers={"Sec-Fetch-Site": site}).status_code == 403


def test_behind_a_proxy_the_whole_origin_is_compared(club):
    with away(club, CLUB) as device:
        sign_in(device)
        assert add(device) == 422
        assert add(device, Origin="http://club.example") == 403


def test_a_session_writes_nothing_where_the_browser_does_not_say_whence(phone):
    token = token_on(phone)
    del phone.headers["Origin"]
    unsaid = phone.post("/meters", data={"form_token": token})
    assert unsaid.status_code == 403
    assert "does not say which site it came from. Nothing was changed." in unsaid.text
    same = {"Sec-Fetch-Site": "same-origin"}
    looked_at = phone.post("/meters", data={"form_token": token}, headers=same)
    assert looked_at.status_code == 422
    assert "fill in “name”" in looked_at.text


def test_another_site_cannot_sign_somebody_in(guarded):
    with away(guarded) as client:
        client.headers["Origin"] = "https://evil.example"
        answer = sign_in(client)
    assert answer.status_code == 403
    assert OTHER_SITE in answer.text
    assert not client.cookies


@pytest.fixture
def everything(phone, guarded, tested):
    batteries.add_battery(guarded.state.store, battery_details(name="Another"))
    return phone


@pytest.mark.parametrize("path", PAGES)
def test_every_form_that_posts_carries_the_word_of_its_session(everything, path):
    forms = soup(everything.get(path)).select("form[method=post]")
    token = token_on(everything)
    assert forms
    for form in forms:
        assert [one["value"] for one in form.select("input[name=form_token]")] == [token], form


def test_at_the_machine_itself_there_is_no_word(client):
    assert "form_token" not in client.get("/batteries/new").text


def test_every_write_of_a_session_needs_the_word(everything, guarded):
    before = everything.get("/api/batteries").json()
    refused = 0
    for route in every_route(guarded):
        if "POST" not in route.methods or route.path in ("/sign-in", "/api/runs/{run_id}/readings"):
            continue
        path = route.path
        for name in route.param_convertors:
            path = path.replace(
                f"{{{name}}}", {"kind": "battery", "thing": "battery"}.get(name, "1")
            )
        for data in ({}, {"form_token": "x"}):
            answer = everything.post(path, data=data, follow_redirects=False)
            assert answer.status_code == 422, path
            assert "not made for this sign-in" in answer.text, path
            refused += 1
    assert refused > 60
    assert everything.get("/api/batteries").json() == before


def test_the_word_of_one_session_does_for_no_other(phone, guarded):
    with away(guarded) as tablet:
        sign_in(tablet)
        data = {"form_token": token_on(tablet)}
    answer = phone.post("/sign-out", data=data)
    assert answer.status_code == 422
    assert "not made for this sign-in" in answer.text
    assert phone.get("/door").status_code == 200, "still signed in"


def test_the_word_does_not_tell_the_session(phone):
    assert phone.cookies["session"] not in phone.get("/door").text
    assert token_on(phone) == auth.form_token(phone.cookies["session"])


def test_a_form_with_a_file_is_checked_and_read_as_before(everything):
    token = token_on(everything)
    files = {"file": ("log.csv", b"time,current\n0:00,9\n1:00,9\n", "text/csv")}
    path = "/batteries/1/discharges"
    assert "not made for this" in everything.post(path, data={}, files=files).text
    taken = everything.post(path, data={"form_token": token, "action": "check"}, files=files)
    assert "not made for this" not in taken.text
    assert "log.csv" in taken.text


def test_pages_of_a_session_can_be_read_by_no_other_site(phone):
    answer = phone.get("/api/batteries", headers={"Origin": "https://evil.example"})
    assert not [name for name in answer.headers if name.startswith("access-control")]
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert phone.options("/api/batteries").status_code == 405


def test_at_the_machine_a_script_without_a_browser_may_write_as_before(guarded):
    with here(guarded) as client:
        looked_at = client.post("/meters", data={})
        assert looked_at.status_code == 422
        assert "fill in “name”" in looked_at.text
        other = client.post("/meters", headers={"Origin": HERE})
        assert other.status_code == 403
        assert OTHER_SITE in other.text
