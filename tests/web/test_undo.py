"""The message after something was deleted, left out or edited, with its one button."""

from datetime import date

import pytest

from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind, typical
from app.services.access import shares
from app.services.entities import batteries, discharges, events, meters
from tests.builders import NOW, battery_details, discharge_details
from tests.web.conftest import soup
from tests.web.test_history import change_name, press


@pytest.fixture
def test(store, battery):
    return discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)


@pytest.fixture
def event(store, battery):
    return events.add_event(store, battery.id, date(2026, 1, 5), EventKind.MOVED, "")


def notice(response):
    return soup(response).select_one(".notice")


def said(response):
    return " ".join(notice(response).p.text.split())


def undo(client, response):
    return press(client, notice(response).form)


def test_a_deleted_battery_comes_back_by_one_button(client, store, test):
    after = client.post("/bin/battery/1")
    assert after.url.path == "/"
    assert said(after) == (
        "“Bench battery” with 1 capacity test was moved to the bin (25 Nov 2026, "
        f"{NOW.astimezone():%H:%M})."
    )
    back = undo(client, after)
    assert back.url.path == "/batteries/1"
    assert notice(back) is None
    assert batteries.get_battery(store, 1).details == battery_details()


def test_a_deleted_test_comes_back_to_its_own_page(client, test):
    after = client.post("/bin/discharge/1")
    assert after.url.path == "/batteries/1"
    moved = "“Bench battery, test of 15 Nov 2026, 13:00” was moved to the bin"
    assert said(after).startswith(moved)
    assert undo(client, after).url.path == "/discharges/1"


def test_a_deleted_event_comes_back_to_its_battery(client, event):
    after = client.post("/bin/event/1")
    assert said(after).startswith("“Bench battery, moved on 5 Jan 2026” was moved to the bin")
    back = undo(client, after)
    assert back.url.path == "/batteries/1"
    assert "5 Jan 2026: moved" in soup(back).text


@pytest.mark.parametrize("kind", ["battery", "discharge", "event"])
def test_undoing_a_deletion_twice_is_said(client, test, event, kind):
    after = client.post(f"/bin/{kind}/1")
    assert undo(client, after).status_code == 200
    again = undo(client, after)
    assert again.status_code == 409
    assert "is not in the bin: it was restored already" in again.text
    # Loaded again, the page has nothing left to say.
    assert notice(client.get(str(after.url))) is None


def test_an_edit_of_a_battery_is_undone_and_that_too(client, store, battery):
    after = change_name(client, store, battery, "Other")
    assert said(after).startswith("“Other” was changed: Name “Bench battery” → “Other”")
    back = undo(client, after)
    assert back.url.path == "/batteries/1"
    assert batteries.get_battery(store, 1).details == battery_details()
    assert said(back).startswith("“Bench battery” was changed: Name “Other” → “Bench battery”")
    undo(client, back)
    assert batteries.get_battery(store, 1).details.name == "Other"


def test_many_changes_are_named_in_part(client, store, battery):
    details = battery_details(name="B", place="P", notes="N", rated_ah=90.0)
    batteries.change_battery(store, battery.id, details, NOW)
    words = said(client.get("/batteries/1?done=edit.battery.1.1"))
    assert "Rated capacity 100 Ah → 90 Ah; and 2 more" in words


def test_undoing_an_edit_after_another_one_is_told_and_keeps_both(client, store, battery):
    first_tab = change_name(client, store, battery, "One")
    change_name(client, store, battery, "Two")
    answer = undo(client, first_tab)
    assert answer.status_code == 409
    assert "changed again after this page was opened" in answer.text
    assert batteries.get_battery(store, 1).details.name == "Two"
    assert len(soup(answer).select("section.version")) == 2
    # Its message is not true any more, so a reload does not say it.
    assert notice(client.get(str(first_tab.url))) is None


def test_undoing_an_edit_twice_is_said(client, store, battery):
    after = change_name(client, store, battery, "One")
    undo(client, after)
    assert undo(client, after).status_code == 409
    assert batteries.get_battery(store, 1).version == 3


def test_leaving_out_and_taking_back_are_undone(client, store, test):
    after = client.post("/discharges/1/left-out", data={"reason": "cold"})
    assert "was left out of the fade" in said(after)
    back = undo(client, after)
    assert "counts in the fade again" in said(back)
    assert discharges.show_discharge(store, 1).discharge.details.left_out_reason == ""


def test_an_edited_meter_is_undone_on_the_page_of_meters(client, store):
    meter = meters.add_meter(store, typical(MeterKind.SHUNT))
    values = {"name": "Shunt with display", "kind": "shunt", "gain_limit_percent": "0.5"}
    values |= {"offset_limit_a": "0.05", "resolution_a": "0.1"}
    after = client.post(f"/meters/{meter.id}", data=values)
    assert said(after).startswith("“Shunt with display” was changed: Gain limit 1 % → 0.5 %")
    assert undo(client, after).url.path == "/meters"
    assert meters.get_meter(store, meter.id).details == meter.details


def test_an_undone_test_of_a_binned_battery_is_refused_in_a_sentence(client, store, test):
    after = client.post("/bin/discharge/1")
    batteries.bin_battery(store, 1, NOW)
    answer = undo(client, after)
    assert answer.status_code == 422
    assert "its battery restored first" in answer.text
    assert "its battery is in the bin too" in client.get("/bin").text


def test_an_undone_test_whose_start_is_taken_is_refused_in_a_sentence(client, store, test):
    after = client.post("/bin/discharge/1")
    discharges.add_discharge(store, 1, discharge_details(), MeterKind.SHUNT, NOW)
    answer = undo(client, after)
    assert answer.status_code == 422
    assert "no other test of this battery starts" in answer.text
    assert "test of 15 Nov 2026" in client.get("/bin").text


MADE_UP = (
    "bin.battery.1",
    "bin.battery.99",
    "bin.discharge.1",
    "bin.meter.1",
    "edit.battery.1",
    "edit.battery.1.0",
    "edit.battery.1.1",
    "edit.run.1.1",
    "edit.nothing.1.1",
    "edit.battery.99.1",
    "edit.battery.1.99999999999999999999",
    "bin.battery.١",
    "The battery is fine. <script>alert(1)</script>",
    "https://example.invalid/",
    "//example.invalid",
    "",
    "x" * 5000,
)


def test_a_made_up_message_is_not_shown(client, test):
    for done in MADE_UP:
        answer = client.get("/batteries/1", params={"done": done})
        assert answer.status_code == 200, done
        assert notice(answer) is None, done
        assert "example.invalid" not in answer.text, done


def test_a_message_is_never_on_a_page_that_is_open_to_other_devices(client, store, test):
    share = shares.share_battery(store, 1, "", None, NOW)
    discharges.bin_discharge(store, 1, NOW)
    assert notice(client.get("/?done=bin.discharge.1")) is not None
    for path in ("/method", f"/shared/{share.token}", "/static/none", "/shared/x"):
        assert notice(client.get(f"{path}?done=bin.discharge.1")) is None


def test_the_button_works_without_script_and_sets_no_cookie(client, test):
    after = client.post("/bin/discharge/1")
    assert "set-cookie" not in {name for one in (*after.history, after) for name in one.headers}
    form = notice(after).form
    assert form["method"] == "post"
    assert [button.text for button in form.select("button")] == ["Undo"]


def test_an_edited_event_is_undone_on_its_battery_s_page(client, store, event):
    values = {"on_date": "2026-01-06", "kind": "moved", "note": "to the shade"}
    after = client.post("/events/1", data=values)
    assert "was changed: Date 5 Jan 2026 → 6 Jan 2026; Note nothing → “to the shade”" in said(after)
    assert soup(after).select_one("a[href='/history/event/1']")
    assert notice(client.post("/events/1", data=values)) is None
    back = undo(client, after)
    assert back.url.path == "/batteries/1"
    assert events.show_event(store, 1).event == event


def test_an_event_is_not_brought_back_before_its_battery_was_in_service(client, store, event):
    after = client.post("/events/1", data={"on_date": "2026-02-06", "kind": "moved", "note": ""})
    details = battery_details(in_service_since=date(2026, 2, 1))
    batteries.change_battery(store, 1, details, NOW)
    answer = undo(client, after)
    assert answer.status_code == 422
    assert "Version 1 cannot be brought back" in answer.text
    assert events.show_event(store, 1).event.on_date == date(2026, 2, 6)
