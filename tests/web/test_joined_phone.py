"""A phone in a running test: what it can, what it cannot, and when it is over."""

from datetime import timedelta

import pytest

from app.domain.joining import PHONE_LASTS
from app.server.network_application import create_network_application
from app.services.access import joining
from app.services.entities import batteries, purge, runs
from app.web.joined import run_pages
from tests.builders import battery_details
from tests.concurrency import at_once
from tests.routes import asked_of_the_owner
from tests.web.auth_client import away, soup
from tests.web.joining import NETWORK, code_on, joined, phone_of, sent
from tests.web.running import START, note

HOURS = timedelta(hours=1)


@pytest.fixture
def phone(client, network, run):
    return joined(client, network, run)


def stored(store, run):
    return [one.given.current_a for one in runs.show_run(store, number(run), START).readings]


def number(run):
    return int(run.rpartition("/")[2])


def test_a_phone_that_joined_does_all_that_a_test_needs(client, store, clock, phone, run, on_phone):
    clock.now = START + HOURS
    assert sent(phone, f"{on_phone}/readings", current_a="9", voltage_v="13.2").status_code == 303
    clock.now = START + 2 * HOURS
    sent(phone, f"{on_phone}/readings", current_a="90", voltage_v="13.1")
    page = soup(phone.get(on_phone))
    asked = page.select_one("form.caveat")
    answer = asked.select_one("button:not(.quiet)")["value"]
    assert sent(phone, asked["action"], answer=answer).status_code == 303
    assert stored(store, run) == [9, 9]
    first = runs.show_run(store, number(run), clock.now).readings[0].id
    way = f"{on_phone}/readings/{first}"
    assert sent(phone, way, action="strike", reason="a slip").status_code == 303
    assert "struck out: a slip" in phone.get(on_phone).text
    sent(phone, way, action="back")
    sent(phone, way, action="correct", current_a="9.5")
    assert stored(store, run) == [9.5, 9]
    assert phone.get(f"{on_phone}/state").json()["phones"] == 1
    refused = sent(phone, f"{on_phone}/end", end_reason="")
    assert refused.status_code == 422
    ended = sent(phone, f"{on_phone}/end", end_reason="protection")
    assert ended.status_code == 200
    of_owner = soup(client.get("/discharges/1"))
    assert soup(ended).select_one(".headline").text == of_owner.select_one(".headline").text
    assert "The test is over" in phone.post(f"{on_phone}/end").text


def test_its_page_leads_nowhere_but_to_what_is_on_the_network(
    client, network, phone, run, on_phone
):
    note(client, run)
    page = soup(phone.get(on_phone))
    ways = {one["href"].partition("#")[0].partition("?")[0] for one in page.select("[href]")}
    ways |= {one["src"].partition("?")[0] for one in page.select("[src]")} - {""}
    ways |= {one["data-run"] for one in page.select("[data-run]")}
    assert not page.select("nav, a.name, [name=look]")
    for way in ways - {""}:
        assert phone.get(way).status_code == 200, way
    forms = {one["action"] for one in page.select("form")}
    assert all(one.startswith(f"{on_phone}/") for one in forms)
    for one in forms:
        # None of them is unknown; without its token each is refused.
        assert phone.post(one).status_code == 422


def test_a_session_opens_this_run_alone_and_nothing_of_the_owner(
    client, app, network, store, phone
):
    other = batteries.add_battery(store, battery_details(name="Other"))
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    second = client.post(f"/batteries/{other.id}/runs", data=form).url.path
    foreign = second.replace("/runs/", "/joined/")
    secret = phone.cookies["joined"]
    # Sent everywhere, whatever the path that the browser would bind it to.
    everywhere = {"Cookie": f"joined={secret}; session={secret}"}
    assert phone.get(foreign, headers=everywhere).status_code == 403
    for part in ("readings", "readings/1", "readings/1/answer", "end", "abandon", "leave"):
        assert phone.post(f"{foreign}/{part}", headers=everywhere).status_code == 403
    assert phone.post(f"{second}/feed", headers=everywhere).status_code == 404
    assert runs.show_standing(store, number(second)).readings == 0
    own = phone.get("/joined/1", headers=everywhere)
    assert own.status_code == 200
    for part in ("feed", "feed/close", "resume", "phones", "phones/end"):
        assert phone.post(f"/joined/1/{part}", headers=everywhere).status_code in (404, 405)


def test_every_route_of_a_run_on_the_network_asks_for_the_phone_s_session(network, run):
    stranger = phone_of(network)
    asked = 0
    for route in run_pages.router.routes:
        path = route.path.replace("{run_id}", "1").replace("{reading_id}", "1")
        for method in route.methods:
            answer = stranger.request(method, path)
            assert (answer.status_code, answer.headers.get("location")) == (403, None), path
            assert "This phone is not in the test" in answer.text
            asked += 1
    assert asked == 8


def test_a_session_opens_nothing_on_the_owner_s_own_server(guarded, phone, run):
    secret = phone.cookies["joined"]
    with away(guarded, headers={"Cookie": f"joined={secret}; session={secret}"}) as device:
        for method, path in asked_of_the_owner(guarded, "/sign-in"):
            if (method, path) != ("POST", "/api/runs/1/readings"):
                answer = device.request(method, path, follow_redirects=False)
                assert answer.status_code in (303, 403), (method, path)


def test_a_form_of_another_origin_or_without_its_token_is_refused(phone, store, run, on_phone):
    token = soup(phone.get(on_phone)).select_one("input[name=form_token]")["value"]
    form = {"current_a": "9", "form_token": token}
    for headers in (
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": NETWORK.replace("8766", "8765")},
        {"Sec-Fetch-Site": "same-site"},
    ):
        assert phone.post(f"{on_phone}/readings", data=form, headers=headers).status_code == 403
    assert phone.post(f"{on_phone}/readings", data={"current_a": "9"}).status_code == 422
    assert stored(store, run) == []
    assert phone.post(f"{on_phone}/readings", data=form).status_code == 303


def test_the_cookie_is_for_this_run_and_the_server_alone(client, network, run, on_phone):
    cookie = phone_of(network).post(code_on(client, run)).headers["set-cookie"]
    parts = {part.strip().lower() for part in cookie.split(";")[1:]}
    assert parts == {
        "httponly",
        "samesite=lax",
        f"path={on_phone}",
        f"max-age={int(PHONE_LASTS.total_seconds())}",
    }


def test_what_was_typed_stands_there_where_the_access_was_ended_meanwhile(
    client, store, phone, run, on_phone
):
    token = soup(phone.get(on_phone)).select_one("input[name=form_token]")["value"]
    client.post(f"{run}/phones/end")
    form = {"current_a": "9.37", "voltage_v": "<b>13", "form_token": token}
    answer = phone.post(f"{on_phone}/readings", data=form)
    assert answer.status_code == 403
    page = soup(answer)
    assert [one.text for one in page.select("dd")] == ["9.37 A", "<b>13 V"]
    assert token not in answer.text
    assert stored(store, run) == []


@pytest.mark.parametrize("way", ["end", "abandon", "resume", "bin", "gone"])
def test_a_session_is_over_with_its_test(
    client, app, store, clock, phone, battery, run, on_phone, way
):
    note(client, run)
    clock.now = START + HOURS
    note(client, run)
    if way == "end":
        client.post(f"{run}/end", data={"end_reason": "protection"})
    elif way in ("abandon", "resume"):
        client.post(f"{run}/abandon")
    else:
        batteries.bin_battery(store, battery.id, clock.now)
    if way == "resume":
        client.post(f"{run}/resume")
    if way == "gone":
        seen = purge.what_goes(store, "battery", battery.id).seen
        purge.remove_for_good(store, "battery", battery.id, seen)
        # The next run may get the number of the one that is gone.
        again = batteries.add_battery(store, battery_details(name="Again"))
        form = {"charge_condition": "full_rested", "meter": "shunt"}
        client.post(f"/batteries/{again.id}/runs", data=form)
    answer = phone.get(on_phone)
    assert answer.status_code == 403
    assert "The test is over" in answer.text
    assert phone.get(f"{on_phone}/state").status_code == 403
    assert phone.post(f"{on_phone}/readings", data={"current_a": "9"}).status_code == 403
    assert joining.list_phones(store, clock.now) == []
    assert not joining.waits_for_phones(store, clock.now)


def test_a_phone_leaves_by_itself(phone, store, on_phone):
    left = sent(phone, f"{on_phone}/leave")
    assert "has left" in left.text
    assert 'joined=""' in left.headers["set-cookie"]
    assert joining.list_phones(store, START) == []


def test_the_owner_sees_and_ends_phones_one_by_one_and_all(client, network, store, clock, run):
    first, second = (joined(client, network, run, f"192.168.1.{last}") for last in (20, 21))
    clock.now = START + HOURS
    first.get("/joined/1")
    door = soup(client.get("/door"))
    rows = door.select("section[aria-labelledby=phones-title] tbody tr")
    assert len(rows) == 2
    assert "1 hour ago" in rows[1].text
    assert "2 phones have joined" in " ".join(client.get(run).text.split())
    assert "Nothing is open on the network" not in client.get(run).text
    client.app.state.network.opened = None
    reopens = soup(client.get(run)).select_one("form[action$='/network/open']")
    assert reopens.select_one("input[name=back]")["value"].endswith(run)
    client.post("/network/open", data={"back": run})
    assert "Nothing is open on the network" not in client.get(run).text
    client.post("/door/phones/end", data={"phone": rows[1].button["value"]})
    assert [one.get("/joined/1").status_code for one in (first, second)] == [200, 403]
    client.post(f"{run}/phones/end")
    assert first.get("/joined/1").status_code == 403
    third = joined(client, network, run)
    client.post("/door/end")
    assert third.get("/joined/1").status_code == 403


def test_a_session_ends_after_its_longest_time_and_not_while_the_phone_sleeps(phone, clock):
    clock.now = START + PHONE_LASTS - timedelta(minutes=1)
    assert phone.get("/joined/1").status_code == 200
    clock.now = START + PHONE_LASTS
    assert phone.get("/joined/1").status_code == 403


def test_a_phone_goes_on_from_another_address_and_after_a_restart(
    app, client, store, phone, on_phone
):
    moved = phone_of(create_network_application(app), "10.0.0.9")
    moved.cookies.set("joined", phone.cookies["joined"])
    assert sent(moved, f"{on_phone}/readings", current_a="9").status_code == 303


def test_laptop_and_phone_write_at_once_and_nothing_is_lost(client, store, phone, run, on_phone):
    token = soup(phone.get(on_phone)).select_one("input[name=form_token]")["value"]
    form = {"form_token": token, "current_a": "9.1"}
    assert at_once(
        lambda: note(client, run, current_a="9"),
        lambda: phone.post(f"{on_phone}/readings", data=form),
    ) == [None, None]
    assert sorted(stored(store, run)) == [9, 9.1]
