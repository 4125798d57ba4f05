"""The usual attacks on what is typed, uploaded and asked for; see the table in DEVELOPERS.md."""

import csv
import io
import re
from datetime import date

import pytest
from bs4 import BeautifulSoup
from sqlalchemy import event
from starlette.websockets import WebSocketDisconnect

from app.domain.appliance import Appliance
from app.domain.event import EventKind
from app.domain.meter import MeterDetails, MeterKind
from app.domain.place import PlaceDetails
from app.services import batteries, discharges, events, meters, photos, places, shares
from app.web.spreadsheet import spreadsheet_text
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.pictures import PHOTO
from tests.routes import every_route
from tests.web.conftest import soup
from tests.web.doors import away, sign_in

EVIL = "'\"><i data-evil>{{7*7}}"
INJECTED = "'); DROP TABLE battery; --"
# Addresses that lead out of this server, as browsers read them (WHATWG URL).
ELSEWHERE = [
    "https://evil.example",
    "//evil.example",
    "/\\evil.example",
    "\\/evil.example",
    "/\t/evil.example",
    "/\n/evil.example",
    "\x01//evil.example",
    "javascript:alert(1)",
    "evil.example",
    "",
]


@pytest.fixture
def poisoned(app, client, store):
    """A Fadeline in which every text is one that would become an element."""
    told = {"notes": EVIL, "place": EVIL, "serial_number": EVIL, "currency": EVIL[:8]}
    details = battery_details(name=EVIL, appliances=(Appliance(EVIL, 30.0, 2.0),), **told)
    one = batteries.add_battery(store, details)
    two = batteries.add_battery(store, details)
    meter = meters.add_meter(store, MeterDetails(EVIL, MeterKind.SHUNT, 1.0, 0.1, 0.1))
    for battery in (one, two):
        for days_ago in (400, 200, 9):
            test = discharge_details(
                steady(step_h=0.2), days_ago=days_ago, notes=EVIL, load=EVIL, source=EVIL,
                assumptions=(EVIL,), left_out_reason=EVIL if days_ago == 200 else "",
            )  # fmt: skip
            made = discharges.add_discharge(store, battery.id, test, meter.id, NOW)
            photos.add_photos(store, made.id, [(f"{EVIL}.jpg", PHOTO)], EVIL, NOW)
        events.add_event(store, battery.id, date(2026, 1, 5), EventKind.MOVED, EVIL)
    place = places.add_place(store, PlaceDetails(EVIL, EVIL))
    places.move_battery(store, one.id, place.id, date(2026, 2, 1))
    form = {"charge_condition": "full_rested", "meter": str(meter.id), "load": EVIL, "notes": EVIL}
    run = client.post(f"/batteries/{two.id}/runs", data=form).url.path
    client.post(f"{run}/readings", data={"current_a": "9"})
    client.post(f"{run}/readings/1", data={"action": "strike", "reason": EVIL})
    client.post(f"/batteries/{one.id}/shares", data={"label": EVIL, "beside_2": "on"})
    return client


def evil_in(answer):
    return BeautifulSoup(answer.text, "html.parser").select("[data-evil]")


def test_no_text_becomes_an_element_or_a_formula_of_a_template_on_any_page(app, poisoned):
    token = shares.get_share(app.state.store, 1).token
    shown = 0
    for route in every_route(app):
        if "GET" not in route.methods or route.path == "/static/chart-library.js":
            continue
        path = route.path.replace("{token}", token).replace("{kind}", "battery")
        path = re.sub(r"\{\w+\}", "1", path.replace("{thing}", "battery"))
        answer = poisoned.get(path)
        kind = answer.headers["content-type"]
        # Only these are read as elements.
        assert ("html" not in kind and "svg" not in kind) or evil_in(answer) == [], path
        assert "evil>49" not in answer.text, path
        shown += "data-evil&gt;{{7*7}}" in answer.text
    assert shown > 20


def test_what_was_typed_and_refused_comes_back_as_text(poisoned):
    fields = {
        one["name"]
        for path in ("/batteries/1/edit", "/discharges/1/edit", "/meters/1", "/places/1/edit")
        for one in soup(poisoned.get(path)).select("main [name]")
    }
    values = dict.fromkeys(fields, EVIL)
    for path in ("/batteries", "/batteries/1/discharges", "/meters", "/places", "/preferences"):
        answer = poisoned.post(path, data=values)
        assert answer.status_code == 422
        assert evil_in(answer) == []


def test_names_and_headings_of_a_file_are_shown_as_text(client, battery):
    data = f"time,current,{EVIL}\n0:00,9,{EVIL}\n1:00,9,{EVIL}\n".encode()
    files = {"file": (f"{EVIL}.csv", data, "text/csv")}
    answer = client.post(
        f"/batteries/{battery.id}/discharges", data={"action": "check"}, files=files
    )
    assert "data-evil&gt;" in answer.text
    assert evil_in(answer) == []


def test_the_policy_lets_no_script_run_but_the_program_s_own(client, tested):
    policy = client.get(f"/batteries/{tested.id}").headers["content-security-policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self'"
    for name in ("base-uri", "frame-ancestors"):
        assert rules[name] == "'none'"
    assert rules["form-action"] == "'self'"


def test_nothing_that_is_typed_reaches_the_database_as_a_statement(client, store, tested):
    details = battery_details(name=INJECTED, notes=INJECTED)
    made = batteries.add_battery(store, details)
    assert batteries.get_battery(store, made.id).details == details
    for path in (
        "/api/batteries/1%20OR%201=1",
        f"/shared/{INJECTED}",
        f"/history/battery{INJECTED}/1",
        f"/bin/battery{INJECTED}/1/remove",
        f"/comparison?battery=1{INJECTED}",
        f"/batteries/1?chart={INJECTED}.svg",
        f"/batteries/1?done=bin.battery{INJECTED}.1",
    ):
        assert client.get(path).status_code in (200, 404, 422), path
    assert client.get(f"/batteries/{tested.id}").status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app/main.py",
        "/static/..%2f..%2fapp%2fmain.py",
        "/static/%2e%2e/pyproject.toml",
        "/static//etc/passwd",
        "/static/..%5c..%5capp%5cmain.py",
        "/static/%00",
        "/files/..%2f1",
        "/photos/..%2f..%2f1.jpg",
        "/batteries/1?chart=../../pyproject.toml.svg",
    ],
)
def test_no_path_leads_out_of_its_folder(client, tested, path):
    assert client.get(path).status_code == 404


@pytest.mark.parametrize("name", ["../fadeline.db", "/etc/passwd", "..", "x" * 20 + "/../x", "\0"])
def test_a_waiting_file_is_named_by_its_own_name_alone(client, battery, name):
    data = {"staged": name, "action": "store"}
    for path in (f"/batteries/{battery.id}/discharges", "/received", "/records/restore"):
        answer = client.post(path, data=data)
        assert answer.status_code == 422, path
        assert "root:" not in answer.text


@pytest.mark.parametrize("start", list("=+-@\t\r\n"))
def test_no_cell_and_no_heading_of_a_table_begins_a_formula(start):
    text = spreadsheet_text([f"{start}HEAD"], [[f"{start}1+1", -9.5]])
    (head,), (cell, number) = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""))
    assert head[0] == cell[0] == "'"
    assert number == "-9.5"


def test_no_table_of_the_program_lets_a_name_begin_a_formula(client, store, tested):
    details = battery_details(name="=HYPERLINK(1)", notes="@SUM(1)")
    other = batteries.add_battery(store, details)
    discharges.add_discharge(store, other.id, discharge_details(load="=1+1"), MeterKind.SHUNT, NOW)
    page = f"/comparison?battery={tested.id}&battery={other.id}"
    tables = [
        client.get(f"/batteries/{other.id}/tests.csv"),
        client.get(f"/batteries/{other.id}/curves.csv"),
        client.get("/discharges/6/readings.csv"),
    ]
    charts = soup(client.get(page)).select("a[href*='.csv']")
    tables += [client.get("/comparison" + one["href"]) for one in charts]
    cells = []
    for table in tables:
        assert table.status_code == 200, table.url
        read = csv.reader(io.StringIO(table.text.lstrip("\ufeff"), newline=""))
        cells += [cell for row in read for cell in row]
    assert len(cells) > 30
    assert [one for one in cells if one.startswith(("=", "+", "@", "\t", "\r"))] == []


@pytest.mark.parametrize("name", ['x"\r\nSet-Cookie: a=b', "x\nContent-Type: text/html", "ü; \\"])
def test_a_name_cannot_write_a_header(client, store, tested, name):
    battery = batteries.add_battery(store, battery_details(name=name))
    data = b"time,current,voltage\n0:00,9,13\n1:00,9,12\n2:00,9,10\n"
    form = {
        "started_at": "2026-11-01T08:30",
        "charge_condition": "full_rested",
        "end_reason": "protection",
        "meter": "shunt",
        "action": "check",
    }
    url = f"/batteries/{battery.id}/discharges"
    page = soup(client.post(url, data=form, files={"file": (name, data, "text/csv")}))
    waiting = {one["name"]: one.get("value", "") for one in page.select("form [name][type=hidden]")}
    stored = client.post(url, data=form | waiting | {"action": "store"})
    assert stored.status_code == 200, stored.text
    answers = [
        client.get("/files/1"),
        client.get(f"/batteries/{battery.id}/file.html"),
        client.get(f"/batteries/{battery.id}/tests.csv"),
        client.get(f"/batteries/{battery.id}/next-test.ics"),
    ]
    for answer in answers:
        assert answer.status_code in (200, 404)
        assert "set-cookie" not in answer.headers
        for key, value in answer.headers.raw:
            assert not re.search(rb"[\r\n\0]", key + value)
        if "content-disposition" in answer.headers:
            allowed = r"attachment; filename(=\"[A-Za-z0-9.-]+\"|\*=utf-8''[A-Za-z0-9._%~-]+)"
            assert re.fullmatch(allowed, answer.headers["content-disposition"])


@pytest.mark.parametrize("target", ELSEWHERE)
def test_no_form_sends_a_browser_to_another_server(client, guarded, target):
    look = client.post("/look", data={"look": "dark", "back": target}, follow_redirects=False)
    with away(guarded) as device:
        signed = sign_in(device, back=target)
        shown = soup(device.get("/sign-in", params={"back": target}))
    for answer in (look, signed):
        assert answer.headers["location"] == "/"
    assert shown.select_one("input[name=back]")["value"] == "/"


def test_no_answer_sends_a_browser_to_the_host_that_a_request_names(client, tested):
    for path in ("/meters/", "/shared/x/", "/static", "/example"):
        answer = client.get(path, headers={"Host": "localhost"}, follow_redirects=False)
        assert answer.status_code in (404, 405), path


def test_the_secret_of_a_link_is_compared_by_its_hash_alone(client, store, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"lasting": "30"})
    token = shares.get_share(store, 1).token
    asked = []

    @event.listens_for(store.engine, "before_cursor_execute")
    def _note(_connection, _cursor, statement, parameters, *_):
        asked.append(f"{statement} {parameters}")

    assert client.get(f"/shared/{token}").status_code == 200
    assert client.get(f"/shared/{token[:-1]}").status_code == 404
    assert any("token_hash" in one for one in asked)
    assert [one for one in asked if token[:-1] in one] == []


def test_no_answer_about_a_link_is_kept_or_tells_where_it_came_from(client, store, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"lasting": "30"})
    token = shares.get_share(store, 1).token
    for path in ("/shared/{}", "/shared/{}x", "/shared/{}?chart=fade.svg", "/api/shared/{}"):
        headers = client.get(path.format(token)).headers
        assert headers["referrer-policy"] == "no-referrer", path
        assert headers["cache-control"] == "no-store", path
        assert headers["x-robots-tag"] == "noindex, nofollow", path


@pytest.mark.parametrize(
    "body",
    [
        "[" * 100_000,
        '{"a":' * 100_000,
        '{"readings": ' + "[" * 50_000 + "]" * 50_000 + "}",
        '{"readings": [{"at": "2026-11-25T10:00:00Z", "current_a": 1e999}]}',
        '{"readings": [{"at": "2026-11-25T10:00:00Z", "current_a": NaN}]}',
        '{"readings": [{"at": 1e400, "current_a": 9}]}',
        "\x1f\x8b\x08\x00",
    ],
    ids=["list", "object", "inside", "infinite", "nan", "moment", "packed"],
)
def test_odd_json_is_refused_and_breaks_nothing(client, battery, body):
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form).url.path
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    answer = client.post(f"/api{run}/readings", content=body.encode(), headers=headers)
    assert answer.status_code in (400, 404, 422)
    assert len(answer.content) < 10_000
    assert client.get(run).status_code == 200


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("page.html", b"<!doctype html><script>alert(1)</script>"),
        ("picture.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"),
        ("program.exe", b"MZ\x90\x00" + b"\0" * 500),
        ("archive.zip", b"PK\x03\x04" + b"\0" * 500),
        ("entity.xml", b"<!DOCTYPE x [<!ENTITY e SYSTEM 'file:///etc/passwd'>]><x>&e;</x>"),
    ],
)
def test_a_file_is_taken_for_what_it_holds_and_not_for_what_it_says(client, tested, name, data):
    for path, field in (
        (f"/batteries/{tested.id}/discharges", "file"),
        ("/discharges/1/photos", "photos"),
        ("/received", "file"),
        ("/records/restore", "file"),
    ):
        for kind in ("text/csv", "image/jpeg"):
            answer = client.post(path, data={"action": "check"}, files={field: (name, data, kind)})
            assert answer.status_code == 422, path
            assert "root:" not in answer.text


def test_a_kept_original_never_opens_in_a_browser(client, battery):
    data = b"time,current,<script>\n0:00,9,1\n1:00,9,1\n2:00,9,1\n"
    form = {
        "started_at": "2026-11-01T08:30",
        "charge_condition": "full_rested",
        "end_reason": "protection",
        "meter": "shunt",
    }
    url = f"/batteries/{battery.id}/discharges"
    files = {"file": ("page.html", data, "text/html")}
    page = soup(client.post(url, data=form | {"action": "check"}, files=files))
    waiting = {one["name"]: one.get("value", "") for one in page.select("form [name][type=hidden]")}
    client.post(url, data=form | waiting | {"action": "store"})
    headers = client.get("/files/1").headers
    assert headers["content-type"] == "application/octet-stream"
    assert headers["content-disposition"].startswith("attachment")
    assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("method", ["TRACE", "PUT", "DELETE", "PATCH", "CONNECT", "NONSENSE"])
def test_methods_that_no_page_has_are_refused(client, tested, method):
    assert client.request(method, f"/batteries/{tested.id}").status_code == 405
    assert client.get(f"/batteries/{tested.id}").status_code == 200


def test_a_connection_of_another_kind_is_closed(client):
    with pytest.raises(WebSocketDisconnect), client.websocket_connect("/shared/x"):
        pass
