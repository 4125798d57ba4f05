"""A field that says what it is has its place in the form, the history and the records."""

from dataclasses import fields, replace

import pytest

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.entities.place import PlaceDetails
from app.domain.entities.run import RunDetails
from app.domain.entity_kind import EntityKind
from app.domain.fields.described_field import described_fields
from app.services.entities import batteries, discharges, history
from app.services.exchange import records_archive
from app.storage.database.engine import read_session
from app.storage.repositories import discharges as discharge_rows
from app.web.forms.described_form import read_fields, shown_fields
from app.web.forms.form_reader import FormReader
from tests.archives import empty_store, exported
from tests.builders import NOW, battery_details, discharge_details
from tests.fields import filled_battery, filled_discharge
from tests.web.conftest import soup

# What is entered is described, but for what is of a kind of its own.
OF_ITS_OWN = {
    BatteryDetails: set(),
    DischargeDetails: {"readings", "meter_id"},
    RunDetails: {"meter_id"},
    MeterDetails: set(),
    PlaceDetails: set(),
    Event: {"id", "battery_id"},
}


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


@pytest.fixture
def test(store, battery):
    return discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)


@pytest.fixture
def filled(store, battery, test):
    """Both edited once, so that nothing is as it was."""
    meter = test.details.meter_id
    changed = discharges.change_discharge(store, test.id, filled_discharge(), meter, NOW)
    return {
        EntityKind.BATTERY: batteries.change_battery(store, battery.id, filled_battery(), NOW),
        EntityKind.DISCHARGE: changed,
    }


@pytest.mark.parametrize("thing", OF_ITS_OWN)
def test_every_field_says_what_it_is(thing):
    names = {field.name for field in fields(thing)}
    assert names - set(described_fields(thing)) == OF_ITS_OWN[thing]


@pytest.mark.parametrize("details", [filled_battery(), filled_discharge()])
def test_what_a_form_shows_is_read_as_the_same(details):
    form = FormReader(shown_fields(details))
    read = read_fields(form, type(details), NOW.date())
    form.finish()
    assert replace(details, **read) == details


@pytest.mark.parametrize("thing", ["battery", "discharge"])
def test_the_form_asks_for_every_field_that_it_reads(client, filled, thing):
    stored = filled[EntityKind(thing)]
    path = {"battery": "batteries", "discharge": "discharges"}[thing]
    page = soup(client.get(f"/{path}/{stored.id}/edit"))
    values = {}
    for control in page.select("form input, form textarea, form select"):
        if control.name == "select":
            control = control.select_one("[selected]") or control
        checked = control.get("type") != "checkbox" or control.has_attr("checked")
        shown = control.text if control.name == "textarea" else control.get("value", "")
        name = control.get("name") or control.parent.get("name")
        values[name] = shown if checked else ""
    asked = shown_fields(stored.details)
    assert {name: values.get(name) for name in asked} == asked


@pytest.mark.parametrize("thing", ["battery", "discharge"])
def test_the_history_tells_of_every_field(store, filled, thing):
    stored = filled[EntityKind(thing)]
    (edit,) = history.show_history(store, EntityKind(thing), stored.id).edits
    told = {change.label for change in edit.changes}
    # The start, which stays, is told in the clock of its place; so that is not told by itself.
    untold = {"started_at", "utc_offset_minutes"}
    named = described_fields(type(stored.details)).items()
    assert {str(field.label) for name, field in named if name not in untold} <= told


def test_records_bring_every_field_back(store, filled, tmp_path):
    exported(store, tmp_path / "all.zip")
    other = empty_store(tmp_path / "other")
    records_archive.restore_records(other, tmp_path / "all.zip")
    with read_session(other.engine) as session:
        back = discharge_rows.get(session, filled[EntityKind.DISCHARGE].id).details
    assert batteries.get_battery(other, filled[EntityKind.BATTERY].id).details == filled_battery()
    assert replace(back, meter_id=None) == filled_discharge()
    other.engine.dispose()
