"""Who prefers °F types °F; stored is °C. A mark between thousands is asked about."""

import pytest

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.meter import MeterDetails
from app.domain.entities.place import PlaceDetails
from app.domain.entities.run import RunDetails
from app.domain.fields.described_field import described_fields
from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import Language, Preferences
from app.domain.quantity import celsius_of, fahrenheit_of
from app.services.entities import batteries, discharges, runs
from app.web.forms.form_reader import FormReader
from app.web.forms.typed_dates import typed_date
from app.web.forms.typed_units import in_fahrenheit, with_own_sign
from tests.builders import NOW
from tests.web.conftest import refusals_of, soup
from tests.web.running import START
from tests.web.typed import BATTERY, ROWS, as_sent, chosen, post_test

FAHRENHEIT = {"language": "en", "temperature": "fahrenheit", "dates": "words", "decimals": "point"}
WARM_ROWS = [(*row[:3], 77, row[4]) for row in ROWS]


@pytest.fixture
def american(client, battery):
    client.post("/preferences", data=FAHRENHEIT)
    return client


def test_every_degree_comes_back_as_it_was_typed():
    for tenths in range(-760, 2480):
        degrees_f = tenths / 10
        assert fahrenheit_of(celsius_of(degrees_f)) == degrees_f
    for hundredths in range(-6000, 12001):
        celsius = hundredths / 100
        assert celsius_of(fahrenheit_of(celsius)) == celsius
    assert celsius_of(77) == 25


@pytest.mark.parametrize(
    "thing", [BatteryDetails, DischargeDetails, MeterDetails, PlaceDetails, RunDetails]
)
def test_what_is_a_temperature_and_nothing_else_is_put_into_the_reader_s_unit(thing):
    for field in described_fields(thing).values():
        number = field.told.quantity
        is_temperature = number is not None and number.unit == "°C"
        shown = in_fahrenheit({field.typed_as: "25"})[field.typed_as]
        assert shown == ("77" if is_temperature else "25"), field.name


def test_a_test_is_typed_in_fahrenheit_and_stored_in_celsius(american, battery, store):
    form = soup(american.get(f"/batteries/{battery.id}/discharges/new"))
    assert "°F" in form.select_one("table.typed thead").text
    assert "(°F)" in form.select_one("label[for=ambient_c]").text
    sent = as_sent(form.select_one("form.entry"))
    assert sent["degrees"] == "f"
    typed = post_test(
        american, battery, rows=WARM_ROWS, degrees="f", ambient_c="71.6", temperature_1="26 °C"
    )
    assert typed.status_code == 303
    test = discharges.show_discharge(store, 1).discharge
    assert test.details.ambient_c == 22
    assert list(test.details.readings.temperature_c[:3]) == [25, 26, 25]


def test_an_unchanged_edit_shows_the_same_and_stores_nothing_new(american, battery, store):
    post_test(american, battery, rows=WARM_ROWS, degrees="f", ambient_c="72")
    form = soup(american.get("/discharges/1/edit"))
    assert chosen(form, "ambient_c") == "72"
    assert chosen(form, "temperature_0") == "77"
    before = discharges.show_discharge(store, 1).discharge
    sent = as_sent(form.select_one("form.entry")) | {"action": "store"}
    assert american.post("/discharges/1", data=sent, follow_redirects=False).status_code == 303
    after = discharges.show_discharge(store, 1).discharge
    assert after.details == before.details
    assert after.version == before.version


def test_a_preview_and_a_changed_mind_convert_nothing_twice(american, battery):
    """Another window switches to °C meanwhile: the form still means what it showed."""
    american.post("/preferences", data=FAHRENHEIT | {"temperature": "celsius"})
    page = soup(post_test(american, battery, "check", WARM_ROWS, degrees="f", ambient_c="72"))
    assert chosen(page, "ambient_c") == "72"
    assert chosen(page, "temperature_0") == "77"
    assert "(°F)" in page.select_one("label[for=ambient_c]").text
    again = as_sent(page.select_one("form.entry"))
    assert again["degrees"] == "f"


def test_a_program_that_says_no_unit_means_celsius(american, battery, store):
    post_test(american, battery, ambient_c="22")
    assert discharges.show_discharge(store, 1).discharge.details.ambient_c == 22


@pytest.mark.parametrize("name", ["ambient_c", "temperature_2"])
def test_a_refusal_names_the_range_in_fahrenheit(american, battery, name):
    refused = post_test(american, battery, degrees="f", **{name: "400"})
    assert refused.status_code == 422
    words = refusals_of(soup(refused))
    high = 194 if name == "ambient_c" else 248
    assert f"to {high} °F" in words
    assert "°C" not in words


def test_a_battery_is_typed_in_fahrenheit_as_a_whole_and_in_parts(american, store):
    typed = BATTERY | {"degrees": "f", "rated_temperature_c": "77", "cold_week_c": "40"}
    american.post("/batteries", data=typed)
    made = batteries.get_battery(store, 2)
    assert made.details.rated_temperature_c == 25
    form = soup(american.get("/batteries/2/edit"))
    assert chosen(form, "rated_temperature_c") == "77"
    assert chosen(form, "cold_week_c") == "40"
    part = as_sent(soup(american.get("/batteries/2/road")).select_one("form[action$=road]"))
    assert part["cold_week_c"] == "40"
    american.post("/batteries/2/road", data=part | {"cold_week_c": "50"})
    changed = batteries.get_battery(store, 2)
    assert changed.details.cold_week_c == 10
    assert changed.details.rated_temperature_c == 25


def test_a_place_begins_in_the_unit_of_its_reader(american):
    form = soup(american.get("/places/new"))
    assert chosen(form, "degrees") == "f"
    row = {"from_0": "1", "to_0": "12", "night_0": "41", "day_0": "72"}
    american.post("/places", data={"name": "Locker", "degrees": "f", **row})
    form = soup(american.get("/places/1/edit"))
    assert [chosen(form, name) for name in ("degrees", "night_0", "day_0")] == ["f", "41", "72"]


def test_a_running_test_asks_in_fahrenheit(american, clock, run, store):
    american.post(f"{run}/readings", data={"current_a": "9", "temperature_c": "77", "degrees": "f"})
    page = soup(american.get(run))
    assert "(°F)" in page.select_one("label[for=temperature_c]").text
    assert "last 77.0" in page.find(id="hint-temperature_c").text
    assert page.find(id="temperature_c_of_1")["value"] == "77"
    assert runs.show_run(store, 1, START).readings[0].given.temperature_c == 25


@pytest.mark.parametrize(
    "typed",
    [
        "2026-04-03",
        "3 Apr 2026",
        "3. April 2026",
        "03.04.2026",
        "3 April 2026",
        "3.4.26",
        "3. Apr 26",
    ],
)
def test_a_date_is_read_as_it_is_shown(typed):
    assert str(typed_date(typed)) == "2026-04-03"


@pytest.mark.parametrize(
    "typed", ["03/04/2026", "3 Nonsense 2026", "31.02.2026", "2026", "31.2.26", "3.4.026"]
)
def test_a_date_that_could_be_another_is_none(typed):
    assert typed_date(typed) is None


def test_a_month_is_read_in_german(client):
    assert str(typed_date("3. März 2026")) == "2026-03-03"
    reader = FormReader({"day": "3. Dez. 2025"})
    assert str(reader.optional_day("day", "day", NOW.date())) == "2025-12-03"
    assert str(typed_date("3. Oktober 2026")) == "2026-10-03"


@pytest.mark.parametrize(("text", "asked"), [("1.200", True), ("1.2", False), ("0.850", False)])
def test_a_german_point_before_three_digits_is_asked(client, text, asked):
    german = {"Accept-Language": "de"}
    answer = client.post("/batteries", data=BATTERY | {"rated_ah": text}, headers=german)
    if asked:
        assert answer.status_code == 422
        assert "1200 Ah oder 1,200 Ah" in refusals_of(soup(answer))
    else:
        assert answer.status_code == 200


def test_a_stored_number_of_three_decimals_is_not_asked_about(client, store):
    client.post("/batteries", data=BATTERY | {"rated_ah": "98.412"})
    german = {"Accept-Language": "de"}
    sent = as_sent(soup(client.get("/batteries/1/edit", headers=german)).main.form)
    assert client.post("/batteries/1", data=sent, headers=german).status_code == 200
    stored = batteries.get_battery(store, 1)
    assert stored.details.rated_ah == 98.412
    assert stored.version == 1


@pytest.mark.parametrize("name", ["current_0", "cut_off_v", "ambient_c", "ended_after_h"])
def test_three_decimals_take_a_comma_where_nobody_writes_thousands(name):
    reader = Reader(Preferences(language=Language.GERMAN))
    assert reader.read(with_own_sign("13.245", name)) == "13,245"
    assert reader.read(with_own_sign("1.200", "rated_ah")) == "1.200", "one or twelve hundred"
    assert reader.read(with_own_sign("1.2", "rated_ah")) == "1,2"
    assert reader.read(with_own_sign("as typed, 1.2", name)) == "as typed, 1.2"


def test_a_german_edit_shows_commas_and_sent_back_changes_nothing(client, battery, store):
    post_test(client, battery)
    path = "/discharges/1/edit"
    before = discharges.show_discharge(store, 1).discharge
    client.post("/preferences", data=FAHRENHEIT | {"decimals": "comma", "temperature": "celsius"})
    sent = as_sent(soup(client.get(path)).select_one("form.entry"))
    assert any("," in value for name, value in sent.items() if name.startswith("voltage_"))
    assert not any("." in value for name, value in sent.items() if name.startswith("voltage_"))
    stored = client.post("/discharges/1", data=sent | {"action": "store"}, follow_redirects=False)
    assert stored.status_code == 303
    after = discharges.show_discharge(store, 1).discharge
    assert after.details == before.details
    assert after.version == before.version
