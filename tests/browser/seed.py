"""A data folder in which every page of the program has something to show. All invented."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from bs4 import BeautifulSoup
from fastapi.testclient import TestClient

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.readings import Readings
from app.server.application import create_app
from app.services.access import auth, shares
from app.services.entities import batteries, bin, discharges, meters, photos, places
from app.services.example.demo import fill_with_demo
from app.services.store import Store
from app.settings import Settings
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.conftest import here
from tests.pictures import PHOTO
from tests.web.auth_client import PASSPHRASE

MANY, PLAIN, BOUND = 1, 2, 3
"""Batteries of the demo: with eighteen tests, with eight, with one lower bound."""

TEMPERATURES = (
    "log.csv",
    "\n".join(
        ["time,temp °C", *(f"2026-05-{1 + h // 24:02d} {h % 24:02d}:00:00,21.5" for h in range(72))]
    ).encode(),
    "text/csv",
)
PAST_TESTS = (
    "tests.csv",
    "\n".join(
        [
            "date;Ah;temp °C;load;remarks",
            *(f"14.3.{year};{104 - (year - 2019) * 2},5;19;lamps;" for year in range(2019, 2027)),
            "20.4.2026;ca. 940;21;heater and lamps, an inverter;windy",
            "Mean;96,5;;;",
        ]
    ).encode(),
    "text/csv",
)


def fill(folder: Path) -> dict[str, str]:
    """Fill the folder; returns the addresses that depend on what was made, by name."""
    app = create_app(Settings(data_dir=folder, busy_timeout_ms=500))
    app.state.clock = lambda: NOW
    store: Store = app.state.store
    try:
        with here(app) as client:
            fill_with_demo(store, NOW.date())
            auth.set_passphrase(store, PASSPHRASE)
            auth.begin_session(store, NOW - timedelta(hours=3))
            made = _batteries(store) | _edits(store, client) | _links(client, store)
            return made | _runs(client, made["one_test"], f"/batteries/{BOUND}")
    finally:
        store.engine.dispose()


def _batteries(store: Store) -> dict[str, str]:
    """One without a test; with one and a photo; a meter; tests of no use, to ask about, noted."""
    none = batteries.add_battery(store, battery_details(name="Not tested yet"))
    one = batteries.add_battery(store, battery_details(name="Tested once"))
    meter = meters.add_meter(store, MeterDetails("Locker shunt", MeterKind.SHUNT, 1.0, 0.1, 0.1))
    test = discharges.add_discharge(store, one.id, discharge_details(), meter.id, NOW)
    photos.add_photos(store, test.id, [("meter.jpg", PHOTO)], "The meter at noon", NOW)
    useless = discharge_details(
        charge_condition=ChargeCondition.UNKNOWN, end_reason=EndReason.UNKNOWN
    )
    gone = batteries.add_battery(store, battery_details(name="No use of it"))
    bare = discharges.add_discharge(store, gone.id, useless, meter.id, NOW)
    impossible = discharge_details(steady(amps=90.0), days_ago=20)
    asked = discharges.add_discharge(store, gone.id, impossible, meter.id, NOW)
    result = discharge_details(Readings.of([], []), days_ago=30, counted_ah=96.4)
    noted = discharges.add_discharge(store, gone.id, result, meter.id, NOW)
    return {
        "no_test": f"/batteries/{none.id}",
        "one_test": f"/batteries/{one.id}",
        "photographed": f"/discharges/{test.id}",
        "unusable": f"/discharges/{bare.id}",
        "asked_about": f"/discharges/{asked.id}",
        "noted": f"/discharges/{noted.id}",
        "meter": f"/meters/{meter.id}",
    }


def _edits(store: Store, client: TestClient) -> dict[str, str]:
    """A battery that was edited twice, things in the bin, a place with a logger's hours."""
    for notes in ("Moved to the rear.", "Moved back."):
        details = batteries.get_battery(store, PLAIN).details
        batteries.change_battery(store, PLAIN, replace(details, notes=notes), NOW)
    binned = batteries.add_battery(store, battery_details(name="Sold"))
    batteries.bin_battery(store, binned.id, NOW)
    places.bin_place(store, _place(store, "Old shed"), NOW)
    place = _place(store, "Cool cellar")
    address = f"/places/{place}/temperatures"
    page = BeautifulSoup(client.post(address, files={"file": TEMPERATURES}).text, "html.parser")
    staged = page.select_one("input[name=staged]")["value"]
    client.post(address, data={"staged": staged, "action": "store", "source": "log.csv"})
    assert len(places.show_place(store, place).logs) == 1
    assert len(bin.list_bin(store)) == 2
    return {"place": f"/places/{place}", "removal": f"/bin/battery/{binned.id}/remove"}


def _place(store: Store, name: str) -> int:
    like = places.list_places(store)[0].place.details
    return places.add_place(store, replace(like, name=name)).id


def _links(client: TestClient, store: Store) -> dict[str, str]:
    """Links to a battery, to one test, to two batteries, and one that was revoked."""
    made = {}
    wishes = {"battery": {}, "test": {"test": "1"}, "several": {f"beside_{PLAIN}": "on"}}
    for name, wish in {**wishes, "closed": {}}.items():
        answer = client.post(f"/batteries/{MANY}/shares", data={**wish, "label": name})
        made[f"link_{name}"] = answer.url.path
        share = shares.get_share(store, int(answer.url.path.rsplit("/", 1)[1]))
        made[f"shared_{name}"] = f"/shared/{share.token}"
    client.post(made["link_closed"] + "/revoke")
    return made


def _runs(client: TestClient, noted: str, given_up: str) -> dict[str, str]:
    """A running test, one reading struck out and one in question, and a test that was given up."""
    form = {"charge_condition": "full_rested", "meter": "shunt", "load": "lamps"}
    made = {}
    for name, battery in (("run", noted), ("run_given_up", given_up)):
        client.app.state.clock = lambda: NOW - timedelta(hours=3)
        made[name] = client.post(f"{battery}/runs", data=form).url.path
        for hours, volts in ((3, "13.2"), (2, "13.1"), (1, "13.0")):
            client.app.state.clock = lambda hours=hours: NOW - timedelta(hours=hours)
            client.post(f"{made[name]}/readings", data={"current_a": "9", "voltage_v": volts})
    client.post(made["run"] + "/readings/2", data={"action": "strike", "reason": "misread"})
    client.app.state.clock = lambda: NOW - timedelta(hours=1.5)
    odd = {"current_a": "9", "voltage_v": "131", "counted_ah": "27"}
    client.post(made["run"] + "/readings", data=odd)
    client.post(made["run_given_up"] + "/abandon")
    return made
