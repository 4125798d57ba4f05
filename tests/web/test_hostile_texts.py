"""Texts that would like to be an element, a template, a formula or a header stay texts."""

import csv
import io
import re
from datetime import date
from xml.etree import ElementTree

import numpy as np
import pytest
from bs4 import BeautifulSoup

from app.domain.appliance import Appliance
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.entities.place import PlaceDetails
from app.services.access import shares
from app.services.entities import batteries, discharges, events, meters, photos, places
from app.web.rendering.spreadsheet import spreadsheet_text
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.pictures import PHOTO
from tests.routes import every_route
from tests.web.conftest import soup
from tests.web.typed import BATTERY

EVIL = "'\"><i data-evil>{{7*7}}"


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


@pytest.mark.parametrize("start", list("=+-@\t\r\n＝＋－＠"))
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
        "day": "2026-11-01",
        "start_time": "08:30",
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


def test_a_number_of_numpy_is_a_number_in_a_spreadsheet_too():
    assert spreadsheet_text(["a"], [[np.float64(1.5)]]) == "\ufeffa\r\n1.5\r\n"


# A bell, a command to a terminal, no character at all, and a mark that turns what follows round.
ODD = "Cellar\x07\x1b\ufffe \u202e54"


@pytest.fixture
def odd(store):
    """As an archive or somebody else's file may bring it: no form takes it so."""
    battery = batteries.add_battery(store, battery_details(name=ODD, notes=ODD))
    for days_ago in (400, 200, 9):
        test = discharge_details(steady(step_h=0.2), days_ago=days_ago, load=ODD)
        discharges.add_discharge(store, battery.id, test, MeterKind.SHUNT, NOW)
    return f"/batteries/{battery.id}"


def test_no_name_turns_round_how_the_figures_beside_it_are_read(client, odd):
    pages = ("/", odd, f"{odd}/report", f"{odd}/share", "/discharges/1", f"{odd}/file.html")
    for path in (*pages, f"{odd}/next-test.ics"):
        text = client.get(path).text
        assert "54" in text, path
        assert not re.search("[\u202a-\u202e\u2066-\u2069]", text.partition("<main")[2]), path


def test_a_picture_of_any_name_is_well_formed(client, odd, tested):
    pages = (odd, f"{odd}/curves", "/discharges/1", f"/comparison?battery={tested.id}&battery=2")
    pictures = 0
    for page in pages:
        for link in soup(client.get(page)).select("main a[href*='.svg']"):
            answer = client.get(page.partition("?")[0] + link["href"])
            assert answer.headers["content-type"].startswith("image/svg")
            ElementTree.fromstring(answer.content)
            pictures += 1
    assert pictures >= 3


def test_what_is_typed_keeps_its_letters_and_loses_what_no_one_sees(client, store):
    client.post("/batteries", data=BATTERY | {"name": ODD})
    client.post("/batteries", data=BATTERY | {"name": "סוללה 🔋 a\u200db"})
    names = {one.details.name for one in batteries.kept_batteries(store)}
    assert names == {"Cellar 54", "סוללה 🔋 a\u200db"}


@pytest.mark.parametrize("name", ["\u200b\u200b", "\u202e", "\x07", "\u00a0 \u2060"])
def test_a_name_that_nobody_can_see_is_none(client, name):
    answer = client.post("/batteries", data=BATTERY | {"name": name})
    assert answer.status_code == 422
    assert "1 to 80 characters" in answer.text
