"""The owner opens the network by a button, sees on every page that it is open, and closes it."""

import io
import time
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
import segno
from fastapi.testclient import TestClient

from app.domain.network import AddressKind, NetworkAddress
from app.settings import Settings
from app.web.forms.network_form import OpenFor
from tests.builders import NOW
from tests.live_server import AT
from tests.web.auth_client import OTHER, PASSPHRASE, refusals_of, soup

pytestmark = pytest.mark.any_database

SECOND = "127.0.0.3"
WIFI = NetworkAddress(AT, AddressKind.WIFI, "wlan0")
CABLE = NetworkAddress(SECOND, AddressKind.CABLE, "eth0")


@pytest.fixture
def network(app):
    """The network of a machine with a Wi-Fi and a cable."""
    made = app.state.network
    made.addresses = lambda: (WIFI, CABLE)
    app.state.owners_network.addresses = made.addresses
    yield made
    made.close()
    app.state.owners_network.close()


def text_of(page):
    return " ".join(page.get_text().split())


def drawn(address):
    code = io.BytesIO()
    segno.make_qr(address, error="m").save(
        code, kind="svg", border=4, scale=5, light="#ffffff", xmldecl=False
    )
    return code.getvalue()


def test_one_button_makes_the_link_opens_it_and_shows_a_true_code(client, network, tested):
    form = soup(client.get(f"/batteries/{tested.id}/share"))
    button = form.select_one("button[name=on_network]")
    chosen = [one.name for one in button.find_all_previous(["select", "legend"])]
    assert chosen == ["legend", "select", "legend"], "the choices stand before what makes the link"
    assert "Open it on this network" in button.text
    sent = {"chosen": "yes", "show_fade": "on", button["name"]: button["value"]}
    made = client.post(f"/batteries/{tested.id}/shares", data=sent)
    page = soup(made)
    address = page.select_one("#address code").text
    assert address.startswith(f"{network.opened.base}/shared/")
    assert "Bench battery" in httpx2.get(address).text
    assert client.get(page.select_one("figure.code img")["src"]).content == drawn(address)
    assert "Others on this network could read the shared page" in text_of(page)
    # The network closes before the link does: both ends stand together.
    assert "Open until 25 Dec 2026, 12:00 on this network until 25 Nov 2026, 23:59;" in (
        text_of(page.select_one("dl.facts"))
    )


def test_what_is_open_is_changed_and_not_opened_again(client, network):
    def offered():
        form = soup(client.get("/network")).select_one("form[action='/network/open']")
        return text_of(form.legend), text_of(form.button)

    assert offered() == ("Open shared links", "Open it on this network")
    client.post("/network/open")
    assert offered() == ("Change how long", "Change it")
    network.addresses = lambda: (CABLE,)
    network.look()
    assert offered() == ("Open it again", "Open it on this network")


def test_a_link_that_nobody_opened_is_not_counted(client, network, tested):
    client.post(f"/batteries/{tested.id}/shares")
    for path in ("/network", f"/batteries/{tested.id}"):
        assert "not opened yet" in text_of(soup(client.get(path)).select_one(".links"))


def test_a_link_that_was_made_is_opened_on_its_own_page_and_the_address_follows(
    client, network, tested
):
    page = soup(client.post(f"/batteries/{tested.id}/shares"))
    assert page.select_one("#address code").text.startswith("http://127.0.0.1/")
    assert page.select("figure.code") == []
    assert "opens only on this machine until you open it" in text_of(page)
    form = page.select_one("form[action='/network/open']")
    back = {one["name"]: one["value"] for one in form.select("input")}
    opened = soup(client.post("/network/open", data=back))
    assert opened.select_one("#address code").text.startswith(network.opened.base)
    closed = soup(client.post("/network/close", data={"door": "shared", **back}))
    assert closed.select_one("#address code").text.startswith("http://127.0.0.1/")


def test_every_page_says_what_is_open_and_closes_it_even_one_that_was_kept(
    app, client, network, tested
):
    pages = (
        "/",
        f"/batteries/{tested.id}",
        "/discharges/1",
        "/settings",
        "/no-such-page",
        "/words",
    )
    for path in pages:
        client.get(path)
        assert soup(client.get(path)).select(".open-door") == []
    client.post("/network/open")
    for path in pages:
        line = soup(client.get(path)).select_one(".open-door")
        assert f"until 25 Nov 2026, 23:59: shared links, at {network.opened.base}" in text_of(line)
        assert line.select_one("form")["action"] == "/network/close"
    sent = {one["name"]: one["value"] for one in line.select("input")}
    assert client.post("/network/close", data=sent, follow_redirects=False).headers["location"] == (
        "/words"
    )
    assert network.opened is None
    for path in pages:
        assert soup(client.get(path)).select(".open-door") == []


def test_strangers_and_shared_pages_are_not_told_what_is_open(app, client, network, tested):
    client.post("/network/open")
    client.post(f"/batteries/{tested.id}/shares")
    token = soup(client.get("/shares/1")).select_one("#address code").text.rsplit("/", 1)[1]
    with TestClient(app, "http://192.168.1.7:8765", client=("192.168.1.20", 5000)) as stranger:
        for path in ("/words", f"/shared/{token}"):
            assert soup(stranger.get(path)).select(".open-door") == []
    assert soup(client.get(f"/shared/{token}")).select(".open-door") == []


def test_where_there_are_several_addresses_the_likely_one_stands_first(client, network):
    page = soup(client.get("/network"))
    assert [one["value"] for one in page.select("#address option")] == [AT, SECOND]
    assert text_of(page.select_one("#address")) == f"Wi-Fi, {AT} cable, {SECOND}"
    client.post("/network/open", data={"address": SECOND, "open_for": "hour"})
    assert network.opened.address == SECOND
    assert (network.opened.until - NOW).total_seconds() == 3600
    network.addresses = lambda: (WIFI,)
    assert soup(client.get("/network")).select("#address") == []


def test_the_end_of_the_day_is_that_of_this_machine_and_never_too_near(zone):
    zone("Europe/Berlin")
    noon = datetime(2026, 3, 28, 11, tzinfo=UTC)
    assert OpenFor.DAY.until(noon) == datetime(2026, 3, 28, 22, 59, tzinfo=UTC)
    # The clock is put forward in the night between.
    assert OpenFor.THREE_DAYS.until(noon) == datetime(2026, 3, 30, 21, 59, tzinfo=UTC)
    late = datetime(2026, 3, 28, 22, 40, tzinfo=UTC)
    assert OpenFor.DAY.until(late) == late + timedelta(hours=1)
    assert OpenFor.HOUR.until(noon) == noon + timedelta(hours=1)


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"address": "203.0.113.9"}, f"“203.0.113.9” does not fit. It needs {AT}, {SECOND}."),
        ({"address": "0.0.0.0"}, "“0.0.0.0” does not fit"),
        ({"open_for": "ever"}, "how long it is open"),
    ],
)
def test_an_odd_choice_is_refused_in_a_sentence(client, network, sent, words):
    answer = client.post("/network/open", data=sent)
    assert answer.status_code == 422
    assert "It was not opened." in answer.text
    assert network.opened is None
    assert words in refusals_of(soup(answer))


def test_a_machine_without_a_network_says_what_to_do_and_still_makes_the_link(
    client, network, tested
):
    network.addresses = tuple
    assert "in no network at present" in client.get(f"/batteries/{tested.id}/share").text
    page = soup(client.post(f"/batteries/{tested.id}/shares", data={"on_network": "yes"}))
    assert "This machine is in no network. Connect it" in text_of(page)
    assert page.select_one("#address code").text.startswith("http://127.0.0.1/")
    assert client.post("/network/open").status_code == 422


def test_a_lost_address_is_told_and_opened_again_from_the_page_of_the_link(client, network, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"on_network": "yes"})
    network.addresses = lambda: (CABLE,)
    page = soup(client.get("/shares/1"))
    assert f"no longer has the address {AT}" in text_of(page.select_one(".open-door"))
    assert "leads nowhere" in text_of(page.main)
    assert page.select("figure.code") == []
    opened = soup(client.post("/network/open", data={"back": "/shares/1"}))
    assert opened.select_one("#address code").text.startswith(f"http://{SECOND}:")


def test_a_server_that_others_reach_already_has_nothing_to_open(app, client, network):
    app.state.settings = Settings(host="192.168.1.7")
    assert "reach this Fadeline already" in client.get("/network").text
    assert client.post("/network/open").status_code == 422
    assert network.opened is None


def test_nothing_of_the_example_is_opened_but_its_pages_tell_of_the_door(client, network):
    client.post("/example")
    assert client.post("/example/network/open").status_code == 422
    assert 'form="choice" name="on_network"' not in client.get("/example/batteries/1/share").text
    client.post("/network/open")
    line = soup(client.get("/example/batteries/1")).select_one(".open-door")
    sent = {one["name"]: one["value"] for one in line.select("input")}
    client.post(line.select_one("form")["action"], data=sent)
    assert network.opened is None


def test_the_owner_s_pages_open_on_the_network_with_a_passphrase_only(app, client, network, quick):
    door = app.state.owners_network
    assert client.post("/network/open-to-owner").status_code == 400
    assert "Set a passphrase first" in client.get("/door").text
    client.post("/door/passphrase", data={"passphrase": PASSPHRASE, "again": PASSPHRASE})
    assert soup(client.get("/door")).select_one("form[action='/network/open-to-owner']")
    page = soup(client.post("/network/open-to-owner", data={"back": "/door"}))
    assert f"your pages, with your passphrase, at {door.opened.base}" in text_of(page)
    assert httpx2.get(f"{door.opened.base}/health").status_code == 200
    assert f"{door.opened.base}/api/runs/1/readings" in client.get("/help/scripts").text
    # Whoever closes it by itself gets an answer before it is closed.
    base = door.opened.base
    closed = httpx2.post(f"{base}/network/close", data={"door": "owner"}, timeout=5)
    assert "Your pages are closed on this network." in closed.text
    assert door.opened is None
    for _ in range(500):
        try:
            httpx2.get(f"{base}/health")
        except httpx2.TransportError:
            return
        time.sleep(0.01)
    raise AssertionError("it stayed open")


def test_on_that_door_a_stranger_signs_in_and_may_close_it_behind_himself(
    app, client, network, quick
):
    door = app.state.owners_network
    client.post("/door/passphrase", data={"passphrase": PASSPHRASE, "again": PASSPHRASE})
    client.post("/network/open-to-owner")
    base = door.opened.base
    with TestClient(door, base, client=("192.168.1.20", 5000), headers={"Origin": base}) as phone:
        for path in ("/", "/door", "/records"):
            answer = phone.get(path, follow_redirects=False)
            assert answer.headers["location"].startswith("/sign-in")
        assert phone.get("/", headers={"Host": "evil.example"}).status_code == 403
        assert phone.post("/sign-in", data={"passphrase": OTHER}).status_code == 422
        assert phone.post("/sign-in", data={"passphrase": PASSPHRASE}).status_code == 200
        line = soup(phone.get("/settings")).select_one(".open-door")
        sent = {one["name"]: one["value"] for one in line.select("input")}
        closed = phone.post("/network/close", data=sent)
        assert "Your pages are closed on this network." in closed.text
    assert door.opened is None


def test_the_demo_is_shared_without_a_passphrase_and_has_no_door_for_an_owner(tmp_path):
    from app.server.application import create_app

    demo = create_app(Settings(data_dir=tmp_path / "demo", demo=True))
    demo.state.network.addresses = lambda: (WIFI,)
    with TestClient(demo, "http://127.0.0.1", client=("127.0.0.1", 5000)) as client:
        assert client.post("/network/open").status_code == 200
        assert httpx2.get(f"{demo.state.network.opened.base}/words").status_code == 200
        assert client.post("/network/open-to-owner").status_code == 400
    demo.state.network.close()
    demo.state.store.engine.dispose()
