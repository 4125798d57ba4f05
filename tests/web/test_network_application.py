"""The application on the network has shared links, the help, static files and the run of a phone
that joined it, and nothing else."""

import asyncio
import re

import httpx2
import pytest
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from app.server.network_application import GUARDED
from app.services.access import shares
from tests.builders import NOW
from tests.routes import every_route
from tests.web.auth_client import soup

pytestmark = pytest.mark.any_database

BASE = "http://192.168.1.7:8766"
SHARED = {
    "/shared/{token}",
    "/api/shared/{token}",
    "/words",
    "/good-test",
    "/method",
    "/heat-in-plain-words",
    "/static/chart-library.js",
    "/static/pages.css",
}
METHODS = ("GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS")


@pytest.fixture
def token(store, tested):
    return shares.share_battery(store, tested.id, "", None, NOW).token


@pytest.fixture
def fellow(app):
    """A phone on the network before the second application. It could claim any origin."""
    second = app.state.network.application
    headers = {"Origin": BASE}
    with TestClient(second, BASE, client=("192.168.1.20", 5000), headers=headers) as made:
        yield made


def test_each_route_of_the_program_but_the_named_ones_is_absent(app, fellow, tested):
    routes = list(every_route(app))
    assert len(routes) > 100
    absent = [route for route in routes if route.path not in SHARED]
    for route in absent:
        path = re.sub(r"\{[^}]*\}", "1", route.path)
        for method in route.methods | {"GET"}:
            answer = fellow.request(method, path, follow_redirects=False)
            assert answer.status_code == 404, (method, path)
            assert "Bench battery" not in answer.text
    assert {route.path for route in routes} - {route.path for route in absent} == SHARED
    # Of the owner's a phone asks for one run, at addresses that the program itself has not.
    guarded = {route.path for part in GUARDED for route in part.router.routes}
    assert all(path.startswith("/joined/{run_id}") for path in guarded)
    assert {route.path for route in every_route(fellow.app)} == SHARED | guarded


def test_what_is_mounted_and_made_by_the_framework_is_absent_too(fellow):
    for path in ("/example", "/example/", "/openapi.json", "/docs", "/redoc", "/health"):
        for method in METHODS:
            assert fellow.request(method, path).status_code == 404, path


def test_the_shared_page_its_charts_and_its_data_are_those_of_the_main_application(
    client, fellow, token
):
    for path in (f"/shared/{token}", f"/shared/{token}?chart=fade-1.svg", f"/api/shared/{token}"):
        here, there = client.get(path), fellow.get(path)
        assert there.status_code == 200
        # A picture for previews is named with the address by which the page was asked for.
        assert there.text.replace(BASE, "http://127.0.0.1") == here.text
    assert fellow.get(f"/shared/{token}?chart=card.png").headers["content-type"] == "image/png"
    assert "Bench battery" in fellow.get(f"/shared/{token}").text


def test_no_link_on_any_page_there_is_dead(fellow, token):
    waiting, seen = [f"/shared/{token}", "/no-such-page"], set()
    while waiting:
        path = waiting.pop()
        answer = fellow.get(path)
        assert path == "/no-such-page" or answer.status_code == 200, path
        if "html" not in answer.headers["content-type"]:
            continue
        for leads in re.findall(
            r'(?:href|src|action|data-chart|data-library)="([^"]+)"', answer.text
        ):
            if leads.startswith("#"):
                assert soup(answer).find(id=leads[1:]), (path, leads)
                continue
            assert leads.startswith(("/", "?")), (path, leads)
            target = (path.split("?")[0] + leads if leads[0] == "?" else leads).split("#")[0]
            if target not in seen:
                seen.add(target)
                waiting.append(target)
    assert {"/static", "/shared"} <= {f"/{one.split('/')[1]}" for one in seen}
    assert {"/words", "/method", "/good-test", "/heat-in-plain-words"} <= seen


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8766",
        "192.168.1.7",
        "192.168.1.7:8765",
        "192.168.1.7:80",
        "127.0.0.1:8766",
        "localhost:8766",
        "192.168.1.7.evil.example:8766",
        "192.168.1.7:8766@evil.example",
        "[::1]:8766",
        "",
    ],
)
def test_another_host_than_its_own_address_and_port_is_refused(fellow, token, host):
    for path in (f"/shared/{token}", "/words", "/static/frame.css", "/batteries"):
        answer = fellow.get(path, headers={"Host": host})
        assert answer.status_code in (400, 403)
        assert "Bench battery" not in answer.text


def test_an_address_of_ipv6_is_told_however_it_is_written(app, token):
    """Not by the framework's test client, whose older ones take no such address."""
    transport = httpx2.ASGITransport(app.state.network.application, client=("2001:db8::9", 5000))

    async def asked(host: str) -> int:
        async with httpx2.AsyncClient(
            transport=transport, base_url="http://[2001:db8::5]:8766"
        ) as fellow:
            answer = await fellow.get(f"/shared/{token}", headers={"Host": host})
            return answer.status_code

    for host, status in (
        ("[2001:db8::5]:8766", 200),
        ("[2001:DB8:0::5]:8766", 200),
        ("[2001:db8::6]:8766", 403),
        ("[2001:db8::5]", 403),
    ):
        assert asyncio.run(asked(host)) == status


def test_every_answer_there_carries_the_headers(fellow, token):
    paths = (f"/shared/{token}", "/shared/no", f"/api/shared/{token}", "/words", "/batteries")
    for path in paths:
        for extra in ({}, {"Host": "evil.example"}):
            headers = fellow.get(path, headers=extra).headers
            policy = headers["content-security-policy"].split("; ")
            assert {"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'"} <= set(
                policy
            )
            assert headers["x-content-type-options"] == "nosniff"
            assert headers["x-frame-options"] == "DENY"
            assert headers["cross-origin-resource-policy"] == "same-origin"
            assert headers["cache-control"] == "no-store"
            assert "set-cookie" not in headers
            assert (headers["referrer-policy"] == "no-referrer") is ("shared" in path)
    assert "immutable" in fellow.get("/static/frame.css?v=1").headers["cache-control"]


def test_methods_and_kinds_of_connection(fellow, store, token):
    for method in ("POST", "PUT", "DELETE", "PATCH", "TRACE", "NONSENSE"):
        assert fellow.request(method, f"/shared/{token}").status_code == 405
    with pytest.raises(WebSocketDisconnect), fellow.websocket_connect(f"/shared/{token}"):
        pass
    head = fellow.head(f"/shared/{token}")
    assert (head.status_code, head.content) == (200, b"")
    assert shares.get_share(store, 1).views == 0


def test_a_write_that_does_not_say_where_it_comes_from_is_refused(fellow):
    for origin in ("http://evil.example", "null", "http://192.168.1.7:8765", ""):
        fellow.headers["Origin"] = origin
        assert fellow.post("/words").status_code == 403
    del fellow.headers["Origin"]
    assert "does not say which site" in fellow.post("/words").text


def test_bodies_and_cookies_too_large_are_refused_unread(fellow):
    def endless():
        raise AssertionError("the body was read")
        yield b""

    length = {"Content-Length": "2000000000"}
    assert fellow.post("/words", content=endless(), headers=length).status_code == 413
    assert fellow.get("/words", headers={"Cookie": "a=" + "x" * 5000}).status_code == 431


def test_nobody_is_the_owner_there_whatever_he_brings(app, token, quick):
    """Not the machine itself, not by a session of the owner's, not by what a proxy says."""
    second = app.state.network.application
    brought = {"Cookie": "session=x; look=dark", "X-Forwarded-For": "127.0.0.1"}
    for sender in ("127.0.0.1", "192.168.1.7", "192.168.1.20"):
        with TestClient(second, BASE, client=(sender, 5000), headers=brought) as fellow:
            page = soup(fellow.get(f"/shared/{token}"))
            assert page.select("nav, form, [data-look]") == []
            assert fellow.get("/batteries").status_code == 404
            assert soup(fellow.get("/words")).select("nav[aria-label=Main], form") == []


def test_links_that_ended_open_nothing_and_errors_are_in_the_language_of_the_reader(
    client, fellow, store, token
):
    fellow.headers["Accept-Language"] = "de"
    assert "<h1>Bench battery" in fellow.get(f"/shared/{token}").text
    client.post("/shares/1/revoke")
    closed = fellow.get(f"/shared/{token}")
    assert closed.status_code == 404
    assert "Dieser Link öffnet nichts" in closed.text
    assert soup(closed).html["lang"] == "de"
    assert fellow.get(f"/api/shared/{token}").status_code == 404
    assert soup(fellow.get("/batteries")).select("nav, form") == []


def test_an_error_there_names_nothing_of_the_owner(fellow, token):
    for path in ("/nowhere", "/batteries/x", "/shared/x"):
        page = soup(fellow.get(path))
        assert "list of batteries" not in page.text.lower()
        assert "Your data" not in page.text
        assert page.main.select("a") == []


def test_a_fault_there_shows_a_reference_and_is_logged(fellow, store, token, monkeypatch, caplog):
    def broken(*_):
        raise RuntimeError("the inside")

    monkeypatch.setattr(shares, "opened_share", broken)
    caplog.set_level("INFO", "fadeline.requests")
    answer = fellow.get(f"/shared/{token}")
    assert answer.status_code == 500
    assert "the inside" not in answer.text
    (line,) = [one.message for one in caplog.records if one.name == "fadeline.requests"]
    assert line.startswith(f"GET /shared/{token[:4]}… 500")
