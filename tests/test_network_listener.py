"""Opening the network and closing it, with real connections; 127.0.0.2 stands for the network."""

import contextlib
import re
import signal
import socket
import subprocess
import sys
import time
from datetime import timedelta

import httpx2
import pytest
from bs4 import BeautifulSoup

from app.domain.errors import InvalidInput
from app.domain.network import AddressKind, NetworkAddress
from app.server import network_listener
from app.server.header_timeout import ImpatientProtocol
from app.services.access import shares
from app.services.entities import batteries
from tests.builders import NOW, add_five_tests, battery_details
from tests.live_server import AT, free_port, serve_on
from tests.postgres import environment_of

pytestmark = [pytest.mark.usefixtures("logs"), pytest.mark.any_database]

ELSEWHERE = "127.0.0.4"
UNTIL = NOW + timedelta(hours=3)
# How the owner's pages are asked for by whoever hopes that something reads a path in another way.
TRICKS = (
    "/batteries",
    "//batteries",
    "/./batteries",
    "/shared/../batteries",
    "/shared/%2e%2e/batteries",
    "/shared/x/..%2f..%2fbatteries",
    "/shared%2f..%2fbatteries",
    "/%62atteries",
    "/BATTERIES",
    "/batteries/",
    "/batteries;x",
    "/batteries%00",
    "/batteries/1",
    "/api/batteries",
    "/api/shared/../batteries",
    "/static/../batteries",
    "/static/%2e%2e/%2e%2e/pyproject.toml",
    "/static//etc/passwd",
    "/example/batteries",
    "\\batteries",
    "http://127.0.0.1:{main}/batteries",
    "http://127.0.0.2:{port}/batteries",
    "//127.0.0.1:{main}/batteries",
    "*",
    "127.0.0.1:{main}",
    "/batteries HTTP/1.0 ",
)


@pytest.fixture
def network(app):
    """What opens the network, for a machine whose address stands here."""
    made = app.state.network
    made.addresses = lambda: (NetworkAddress(AT, AddressKind.WIFI),)
    yield made
    made.close()


@pytest.fixture
def token(store):
    battery = battery_with_tests(store)
    return shares.share_battery(store, battery.id, "", None, NOW).token


def battery_with_tests(store):
    made = batteries.add_battery(store, battery_details())
    add_five_tests(store, made)
    return made


def raw(port, request):
    """All that comes back for these bytes."""
    with socket.create_connection((AT, port), 20) as asking:
        asking.sendall(request)
        said = b""
        with contextlib.suppress(ConnectionResetError):
            while piece := asking.recv(65536):
                said += piece
    return said


def port_of(opened):
    return int(opened.base.rsplit(":", 1)[1])


def is_closed(opened):
    try:
        socket.create_connection((AT, port_of(opened)), 5).close()
    except ConnectionRefusedError:
        return True
    return False


def test_it_opens_at_once_and_closes_at_once_with_every_connection(network, token):
    assert network.opened is None
    opened = network.open(AT, UNTIL)
    assert network.opened == opened
    assert opened.base == f"http://{AT}:{port_of(opened)}"
    with httpx2.Client(base_url=opened.base) as kept:
        assert "Bench battery" in kept.get(f"/shared/{token}").text
        idle = socket.create_connection((AT, port_of(opened)), 20)
        begun = time.monotonic()
        network.close()
        # The server looks ten times a second whether it is to end.
        assert time.monotonic() - begun < 2
        assert idle.recv(10) == b""
        idle.close()
        assert network.opened is None
        assert is_closed(opened)
        with pytest.raises(httpx2.TransportError):
            kept.get("/words")
    network.close()


def test_no_trick_with_a_path_or_a_target_reaches_a_page_of_the_owner(network, token):
    port = port_of(network.open(AT, UNTIL))
    for trick in TRICKS:
        target = trick.format(port=port, main=port - 1)
        for method in ("GET", "POST"):
            head = f"{method} {target} HTTP/1.1\r\nHost: {AT}:{port}\r\nConnection: close\r\n\r\n"
            said = raw(port, head.encode())
            status = said.split(b" ")[1] if said else b"nothing"
            assert status in (b"400", b"403", b"404", b"405", b"nothing"), (target, said[:80])
            assert b"Bench battery" not in said, target
    for head in (
        f"CONNECT 127.0.0.1:{port - 1} HTTP/1.1\r\nHost: {AT}:{port}\r\nConnection: close\r\n\r\n",
        f"GET /shared/{token} HTTP/1.1\r\nConnection: close\r\n\r\n",
        f"GET /shared/{token} HTTP/1.1\r\nHost: a\r\nHost: {AT}:{port}\r\n\r\n",
        f"GET /shared/{token} HTTP/1.0\r\n\r\n",
        f"PRI * HTTP/2.0\r\n\r\nGET /shared/{token}\r\n\r\n",
    ):
        said = raw(port, head.encode())
        assert said.split(b" ")[1:2] in ([b"400"], [b"403"], [b"404"], []), said[:80]
        assert b"Bench battery" not in said
    fine = f"GET /shared/{token} HTTP/1.1\r\nHost: {AT}:{port}\r\nConnection: close\r\n\r\n"
    assert b"Bench battery" in raw(port, fine.encode())


def test_slow_senders_are_hung_up_on_and_idle_ones_shut_nobody_out(network, token, monkeypatch):
    monkeypatch.setattr(ImpatientProtocol, "head_wait_s", 0.3)
    opened = network.open(AT, UNTIL)
    port = port_of(opened)
    with contextlib.ExitStack() as stack:
        slow = socket.create_connection((AT, port), 20)
        stack.enter_context(slow).sendall(b"GET /words HTTP/1.1\r\nHost: a\r\nX: ")
        with contextlib.suppress(ConnectionResetError):
            assert slow.recv(100) == b""
        monkeypatch.setattr(ImpatientProtocol, "head_wait_s", 60.0)
        for number in range(200):
            sender = (f"127.0.1.{number + 1}", 0)
            stack.enter_context(socket.create_connection((AT, port), 20, sender))
        assert httpx2.get(f"{opened.base}/shared/{token}").status_code == 200


def test_a_port_in_use_is_left_alone_and_a_code_of_before_opens_again(network, token):
    first = network.open(AT, UNTIL)
    network.close()
    assert network.open(AT, UNTIL).base == first.base
    network.close()
    with socket.create_server((AT, port_of(first))):
        other = network.open(AT, UNTIL)
        assert other.base != first.base
        assert httpx2.get(f"{other.base}/words").status_code == 200


def test_any_free_port_is_taken_where_the_usual_ones_are_in_use(network, monkeypatch):
    tried = []

    def bound(host, port):
        tried.append(port)
        if port:
            raise network_listener.FadelineError("in use")
        return network_bound(host, port)

    network_bound = network_listener.bound
    monkeypatch.setattr(network_listener, "bound", bound)
    assert httpx2.get(f"{network.open(AT, UNTIL).base}/words").status_code == 200
    assert len(tried) == len(set(tried)) == network_listener.PORTS_TRIED + 1


def test_an_address_of_another_machine_is_refused_with_those_of_this_one(network):
    for address in (ELSEWHERE, "0.0.0.0", "", "evil.example", "127.0.0.1"):
        with pytest.raises(InvalidInput, match=f"allowed|{AT}"):
            network.open(address, UNTIL)
    assert network.opened is None


def test_an_address_that_cannot_be_used_is_refused_and_leaves_nothing_open(network):
    network.addresses = lambda: (NetworkAddress("203.0.113.9", AddressKind.WIFI),)
    with pytest.raises(network_listener.FadelineError, match=r"Choose another address"):
        network.open("203.0.113.9", UNTIL)
    assert network.opened is None


def test_it_stays_open_past_its_time_while_a_phone_is_in_a_running_test(app, client, network):
    battery = batteries.add_battery(app.state.store, battery_details())
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form).url.path
    page = BeautifulSoup(client.post(f"{run}/phones").text, "html.parser")
    address = page.select_one("#joining-address code").text
    opened = network.opened
    with httpx2.Client(headers={"Origin": opened.base}, follow_redirects=True) as phone:
        assert phone.post(address).status_code == 200
        app.state.clock = lambda: NOW + timedelta(days=5)
        network.look()
        assert network.opened == opened
        page = f"{opened.base}{run.replace('runs', 'joined')}"
        assert phone.get(page).status_code == 200
        assert "longer while a phone is in a running test" in client.get(run).text
        client.post(f"{run}/abandon")
        assert "longer while a phone" not in client.get(run).text
        network.look()
        assert "The test is over" in phone.get(page).text
        app.state.clock = lambda: NOW + timedelta(days=5, minutes=2)
        network.look()
        assert network.opened is None


def test_it_closes_by_itself_when_its_time_is_up_as_after_a_night_asleep(
    app, network, token, monkeypatch
):
    monkeypatch.setattr(network_listener, "LOOKS_EVERY_S", 0.02)
    opened = network.open(AT, UNTIL)
    app.state.clock = lambda: UNTIL - timedelta(seconds=1)
    time.sleep(0.1)
    assert not is_closed(opened)
    app.state.clock = lambda: UNTIL + timedelta(hours=8)
    for _ in range(500):
        if network.opened is None and is_closed(opened):
            return
        time.sleep(0.01)
    raise AssertionError("it stayed open")


def test_it_closes_with_the_last_link_and_not_before(client, network, token):
    opened = network.open(AT, UNTIL)
    client.post("/batteries/1/shares")
    client.post("/shares/1/revoke")
    assert network.opened == opened
    client.post("/shares/2/revoke")
    assert network.opened is None
    assert is_closed(opened)


def test_it_stays_open_without_a_link_where_it_was_opened_before_one_was_made(network, store):
    opened = network.open(AT, UNTIL)
    network.look()
    assert network.opened == opened
    battery = battery_with_tests(store)
    share = shares.share_battery(store, battery.id, "", NOW + timedelta(days=1), NOW)
    network.look()
    shares.revoke_share(store, share.id, NOW)
    network.look()
    assert network.opened is None


def test_an_address_that_goes_and_comes_back_is_told(network, token):
    opened = network.open(AT, UNTIL)
    network.addresses = lambda: (NetworkAddress(ELSEWHERE, AddressKind.WIFI),)
    network.look()
    assert not network.opened.there
    network.addresses = lambda: (NetworkAddress(AT, AddressKind.WIFI),)
    network.look()
    assert network.opened == opened
    assert httpx2.get(f"{opened.base}/shared/{token}").status_code == 200
    network.addresses = lambda: (NetworkAddress(ELSEWHERE, AddressKind.WIFI),)
    moved = network.open(ELSEWHERE, UNTIL)
    assert moved.base.startswith(f"http://{ELSEWHERE}:")
    assert is_closed(opened)


def has_ipv6():
    try:
        socket.create_server(("::1", 0), family=socket.AF_INET6).close()
    except OSError:
        return False
    return True


@pytest.mark.skipif(not has_ipv6(), reason="this machine has no IPv6 at all")
def test_a_machine_with_addresses_of_ipv6_alone_is_reached(network, token):
    network.addresses = lambda: (NetworkAddress("::1", AddressKind.WIFI),)
    opened = network.open("::1", UNTIL)
    assert opened.base.startswith("http://[::1]:")
    assert httpx2.get(f"{opened.base}/shared/{token}").status_code == 200


# The program as it is started, on a machine whose address stands here.
STARTED = """
from app.domain.network import AddressKind, NetworkAddress
from app.server import network_application

network_application.own_addresses = lambda: (NetworkAddress("127.0.0.2", AddressKind.WIFI),)
from app.cli.commands import main

main()
"""


def wait_for(port):
    for _ in range(600):
        with contextlib.suppress(httpx2.TransportError):
            httpx2.get(f"http://127.0.0.1:{port}/health", timeout=1)
            return
        time.sleep(0.05)
    raise AssertionError("the server did not answer")


def program(folder, port):
    """The program, as it starts."""
    command = [sys.executable, "-c", STARTED, *serve_on(port)[1:]]
    nowhere = subprocess.DEVNULL
    return subprocess.Popen(command, stdout=nowhere, stderr=nowhere, env=environment_of(folder))


def test_a_program_that_is_killed_or_stopped_leaves_nothing_open(tmp_path):
    ends = {signal.SIGKILL: -signal.SIGKILL, signal.SIGTERM: 0}
    # Both start at once: that takes longest. Each tries the port behind its own.
    ports = {end: free_port() for end in ends}
    programs = {end: program(tmp_path / end.name, ports[end]) for end in ends}
    try:
        for end, status in ends.items():
            wait_for(ports[end])
            address = f"http://127.0.0.1:{ports[end]}/network/open"
            answer = httpx2.post(address, follow_redirects=True)
            opened = int(re.search(rf"at http://{AT}:(\d+)", answer.text)[1])
            with socket.create_connection((AT, opened), 20) as idle:
                assert httpx2.get(f"http://{AT}:{opened}/words").status_code == 200
                programs[end].send_signal(end)
                assert programs[end].wait(30) == status
                with contextlib.suppress(ConnectionResetError):
                    assert idle.recv(10) == b""
            with pytest.raises(ConnectionRefusedError):
                socket.create_connection((AT, opened), 5)
    finally:
        for one in programs.values():
            one.kill()
            one.wait(30)
