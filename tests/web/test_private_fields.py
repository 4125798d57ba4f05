"""Whether a link shows a field is decided here, by name; a new field needs a decision."""

from dataclasses import fields
from datetime import date

import pytest
from fastapi.testclient import TestClient

from app.domain.appliance import Appliance
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import (
    NOTED_FIELDS,
    ChargeCondition,
    DischargeDetails,
    EndReason,
)
from app.domain.entities.event import Event, EventKind
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.entities.run import RunDetails
from app.domain.photo import Photo
from app.ingest.photo_reencoding import redrawn
from app.services.access import shares
from app.services.entities import batteries, discharges, events, meters, photos
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.pictures import PHOTO
from tests.routes import asked_of_the_owner

SHOWN = {
    BatteryDetails: {
        "name",
        "chemistry",
        "nominal_v",
        "rated_ah",
        "rated_hours",
        "rated_temperature_c",
        "reserve_share",
        "threshold_kind",
        "end_of_life_share",
        # The threshold is named in words: "120 Ah for 3 nights of 40 Ah".
        "daily_use_ah",
        "nights",
        # Not as such: they act through the results.
        "in_service_since",
        "cut_off_v",
        "empty_under_load_v",
        "corrects_temperature",
        "corrects_rate",
        "test_interval_days",
    },
    DischargeDetails: {
        "started_at",
        "utc_offset_minutes",
        "charge_condition",
        "end_reason",
        "readings",
        "ended_after_h",
        "cut_off_v",
        "ambient_c",
        "load",
        # The owner is told so where it is typed.
        "left_out_reason",
        # The result where it is all that was noted.
        *NOTED_FIELDS,
    },
    # The limits stand in the budget of a shared test.
    MeterDetails: {"kind", "gain_limit_percent", "offset_limit_a", "resolution_a"},
    Event: {"on_date", "kind"},
    RunDetails: set(),
    Photo: set(),
}
PRIVATE = {
    BatteryDetails: {
        "place": "SECRETPLACE",
        "serial_number": "SECRETSERIAL",
        "price": 987654.0,
        "notes": "SECRETNOTES",
        "currency": "SECRETCU",
        "warranty_from": date(2019, 7, 13),
        "warranty_years": 41.37,
        "warranty_share": 0.4137,
        "warranty_cycles": 76543.0,
        "drawn_ah_a_week": 65432.1,
        "full_discharges_a_year": 97531.5,
        "waits_at_low_share": 0.3179,
        "waits_at_high_share": 0.8642,
        "charge_ah_a_day": 54321.9,
        "cold_week_c": -31.25,
        "appliances": (Appliance("SECRETAPPLIANCE", 3.0, 2.0),),
    },
    DischargeDetails: {
        "notes": "SECRETTESTNOTES",
        "source": "SECRETFILE.csv",
        "assumptions": ("SECRETASSUMPTION",),
        "import_uid": "SECRETIMPORT",
        "meter_id": None,
    },
    MeterDetails: {"name": "SECRETMETER"},
    Event: {"id": None, "battery_id": None, "note": "SECRETEVENT"},
    RunDetails: {field.name: None for field in fields(RunDetails)},
    Photo: {field.name: None for field in fields(Photo)} | {"caption": "SECRETCAPTION"},
}

# The private numbers above as they would be written.
PRIVATE_NUMBERS = ["987654", "41.37", "76543", "65432", "97531", "2019-07-13", "54321", "31.25"]


@pytest.mark.parametrize("kind", list(SHOWN))
def test_every_field_is_decided(kind):
    names = {field.name for field in fields(kind)}
    assert SHOWN[kind].isdisjoint(PRIVATE[kind])
    assert names == SHOWN[kind] | set(PRIVATE[kind]), f"decide whether a link shows {kind}"


@pytest.fixture
def links(client, store):
    """A link to a battery, to one test and to two batteries, all full of secrets."""
    told = PRIVATE[BatteryDetails]
    battery = batteries.add_battery(store, battery_details(**told))
    other = batteries.add_battery(store, battery_details(**told, name="Other"))
    meter = meters.add_meter(store, MeterDetails("SECRETMETER", MeterKind.SHUNT, 1.0, 0.1, 0.1))
    for one in (battery, other):
        for days_ago, end in (
            (400, EndReason.PROTECTION),
            (200, EndReason.TIME),
            (9, EndReason.PROTECTION),
        ):
            details = discharge_details(
                steady(step_h=0.1),
                days_ago=days_ago,
                end_reason=end,
                notes="SECRETTESTNOTES",
                source="SECRETFILE.csv",
                assumptions=("SECRETASSUMPTION",),
                charge_condition=ChargeCondition.FULL,
            )
            test = discharges.add_discharge(store, one.id, details, meter.id, NOW)
            photos.add_photos(store, test.id, [("SECRETPHOTO.jpg", PHOTO)], "SECRETCAPTION", NOW)
        events.add_event(store, one.id, date(2026, 1, 5), EventKind.MOVED, "SECRETEVENT")
    forms = ({}, {"test": "1"}, {f"beside_{other.id}": "on"})
    made = []
    for form in forms:
        form = {**form, "label": "SECRETLABEL"}
        answer = client.post(f"/batteries/{battery.id}/shares", data=form)
        assert answer.status_code == 200, answer.text
        share_id = int(answer.url.path.rsplit("/", 1)[1])
        token = shares.get_share(store, share_id).token
        made.append(token)
    return made


def test_no_private_field_is_on_a_shared_page_or_in_its_data(client, links):
    secrets = [str(v) for told in PRIVATE.values() for v in told.values() if "SECRET" in str(v)]
    words = [
        *(s.strip("(),'") for s in secrets),
        *PRIVATE_NUMBERS,
        "SECRETLABEL",
        "SECRETAPPLIANCE",
    ]
    words += ["SECRETPHOTO", "/photos/", "Photo of the meter", "<img", redrawn(PHOTO, "").sha256]
    for token in links:
        for path in (f"/shared/{token}", f"/api/shared/{token}"):
            answer = client.get(path)
            assert answer.status_code == 200
            for word in words:
                assert word not in answer.text, (path, word)


def test_every_other_address_is_closed_to_other_devices(app, links):
    """Every route of the program, asked for from another device on the network."""
    closed = 0
    with TestClient(app, client=("192.168.1.20", 5000)) as stranger:
        for method, path in asked_of_the_owner(app):
            answer = stranger.request(method, path)
            feed = path == "/api/runs/1/readings"
            assert answer.status_code in ((404, 413, 422) if feed else (403, 404)), path
            closed += 1
    assert closed > 30
