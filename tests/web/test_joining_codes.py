"""Codes that let a phone join a running test: how they are shown, used up, and guessed."""

import zipfile
from dataclasses import replace
from datetime import timedelta

import pytest

from app.domain.joining import CODE_LASTS
from app.domain.tokens import hash_token
from app.server.network_application import Needs
from app.services.access import joining
from app.services.backups.backups import CODES_SETTING, PHONES_SETTING
from app.services.exchange.records_archive import export_records
from app.storage.database.engine import read_session
from app.storage.repositories import settings
from app.web.forms.network_form import OpenFor
from app.web.security.access_log import loggable
from tests.concurrency import at_once
from tests.web.auth_client import soup
from tests.web.joining import code_on, joined, phone_of
from tests.web.running import START

HOURS = timedelta(hours=1)


@pytest.fixture
def phone(client, network, run):
    return joined(client, network, run)


def test_looking_at_a_code_uses_nothing_up(client, network, run, on_phone):
    path = code_on(client, run)
    previews = phone_of(network)
    for method in ("HEAD", "GET", "GET"):
        answer = previews.request(method, path)
        assert (answer.status_code, answer.headers.get("set-cookie")) == (200, None)
    page = soup(previews.get(path))
    assert [one["action"] for one in page.select("form")] == [path]
    assert page.select_one("form button").text == "Join the test"
    answer = phone_of(network).post(path)
    assert (answer.status_code, answer.headers["location"]) == (303, on_phone)


def test_a_code_lets_one_phone_in_however_many_try_at_once(client, network, store, run):
    path = code_on(client, run)
    phones = [phone_of(network, f"192.168.1.{last}") for last in range(20, 24)]
    answers = []
    at_once(*(lambda one=one: answers.append(one.post(path).status_code) for one in phones))
    assert sorted(answers) == [303, 404, 404, 404]
    assert len(joining.list_phones(store, START)) == 1


def test_a_used_code_opens_nothing_to_another_phone_and_leads_its_own_back(
    client, network, run, on_phone
):
    path = code_on(client, run)
    first, second = phone_of(network), phone_of(network)
    first.post(path)
    for answer in (second.get(path), second.post(path)):
        assert answer.status_code == 404
        assert "a phone has used it" in answer.text
    for answer in (first.get(path), first.post(path)):
        assert (answer.status_code, answer.headers["location"]) == (303, on_phone)


def test_a_code_ends_after_ten_minutes_with_the_next_one_and_with_the_test(
    client, network, clock, run
):
    phone = phone_of(network)
    late = code_on(client, run)
    clock.now = START + CODE_LASTS - timedelta(seconds=1)
    assert phone.get(late).status_code == 200
    clock.now = START + timedelta(minutes=11)
    assert phone.post(late).status_code == 404
    replaced, last = code_on(client, run), code_on(client, run)
    assert phone.post(replaced).status_code == 404
    client.post(f"{run}/abandon")
    assert phone.post(last).status_code == 404
    client.post(f"{run}/resume")
    assert phone.post(last).status_code == 404


def test_a_guessed_code_and_a_guessed_session_open_nothing(
    client, network, store, phone, run, on_phone
):
    path = code_on(client, run)
    code = path.rpartition("/")[2]
    assert len(code) == 22
    stranger = phone_of(network)
    for guess in (code[:-1], code.swapcase(), hash_token(code), "x" * 22, "%00", "ä"):
        answer = stranger.post(f"{path.removesuffix(code)}{guess}")
        assert answer.status_code == 404
        assert not answer.cookies
    assert stranger.post(path.replace(on_phone, "/joined/99")).status_code == 404
    secret = phone.cookies["joined"]
    with read_session(store.engine) as session:
        kept = settings.get(session, CODES_SETTING) + settings.get(session, PHONES_SETTING)
    assert code not in kept
    assert secret not in kept
    for guess in ("", "x" * 43, hash_token(secret), secret.swapcase(), code):
        stranger.cookies.set("joined", guess)
        assert stranger.get(on_phone).status_code == 403


def test_the_network_opens_with_the_code_and_is_needed_while_a_phone_may_come(
    client, app, store, clock, network, run
):
    needs = Needs(store)
    assert not needs.are_there(clock.now)
    path = code_on(client, run)
    opened = app.state.network.opened
    assert opened.until == OpenFor.DAY.until(clock.now)
    assert needs.are_there(clock.now)
    code_on(client, run)
    assert app.state.network.opened is opened
    assert phone_of(network).post(path).status_code == 404
    client.post(f"{run}/abandon")
    app.state.network.close()
    assert client.post(f"{run}/phones").status_code == 422
    assert app.state.network.opened is None
    assert needs.are_there(clock.now)
    clock.now += timedelta(minutes=2)
    assert not needs.are_there(clock.now)


def test_codes_and_sessions_stay_out_of_exports_and_of_the_log(client, store, phone, run, tmp_path):
    path = code_on(client, run)
    code = path.rpartition("/")[2]
    assert loggable(path) == f"/joined/1/join/{code[:4]}…"
    file = tmp_path / "all.zip"
    export_records(store, file)
    with zipfile.ZipFile(file) as archive:
        content = b"".join(archive.read(name) for name in archive.namelist())
    assert b"door_" not in content


def test_in_the_example_and_behind_a_public_address_no_phone_is_let_in(client, app, network, run):
    app.state.settings = replace(app.state.settings, public_address="https://club.example")
    assert client.post(f"{run}/phones").status_code == 422
    page = client.get(run).text
    assert "Let a phone join" not in page
    assert "sign in at https://club.example" in page
    app.state.settings = replace(app.state.settings, public_address="")
    client.post("/example")
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    invented = client.post("/example/batteries/3/runs", data=form).url.path
    assert "phone" not in soup(client.get(invented)).main.text
    assert client.post(f"{invented}/phones").status_code == 422
    assert app.state.network.opened is None


def test_without_a_network_the_page_says_what_to_do(client, app, network, run):
    app.state.network.found = []
    answer = client.post(f"{run}/phones")
    assert answer.status_code == 422
    assert "hotspot" in answer.text
    assert not soup(answer).select("#joining-address")


def test_the_picture_holds_the_address_and_no_page_shows_it_again(client, network, run):
    page = soup(client.post(f"{run}/phones"))
    assert page.select_one("figure.code img")["src"].startswith("data:image/svg+xml")
    again = client.get(run)
    assert "Let a phone join" in again.text
    assert "/join/" not in again.text
