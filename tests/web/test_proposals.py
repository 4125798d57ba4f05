"""What usually repeats is proposed in a form, and said to be a proposal."""

import pytest

from tests.web.conftest import soup
from tests.web.typed import BATTERY, chosen, post_test


def said(page, name):
    hint = page.find(id=f"hint-{name}")
    return hint.text if hint else ""


@pytest.mark.parametrize("path", ["discharges/new", "runs/new"])
def test_what_usually_repeats_is_proposed_as_in_the_last_test_and_said_so(client, battery, path):
    post_test(client, battery, load="old lamps", day="2026-10-01")
    post_test(client, battery, charge_condition="full")
    page = soup(client.get(f"/batteries/{battery.id}/{path}"))
    assert [chosen(page, n) for n in ("charge_condition", "meter", "load")] == [
        "full",
        "1",
        "lamps",
    ]
    for name in ("charge_condition", "meter", "load"):
        assert "As in the test of 1 Nov 2026." in said(page, name)


def test_why_a_test_ended_is_never_proposed(client, battery):
    post_test(client, battery)
    page = soup(client.get(f"/batteries/{battery.id}/discharges/new"))
    assert chosen(page, "end_reason") == ""


def test_a_proposal_that_was_changed_is_no_longer_said_to_be_one(client, battery):
    post_test(client, battery)
    page = soup(post_test(client, battery, action="check", load="kettle", current_2="x"))
    assert "As in the test" not in said(page, "load")
    assert "As in the test of 1 Nov 2026." in said(page, "charge_condition")


def test_a_first_test_proposes_nothing_from_a_last_time(client, battery):
    page = client.get(f"/batteries/{battery.id}/discharges/new")
    assert "As in the test" not in page.text
    assert chosen(soup(page), "charge_condition") == ""


def test_a_test_that_is_edited_shows_no_proposal(client, battery):
    post_test(client, battery, day="2026-10-01")
    post_test(client, battery)
    assert "As in the test" not in client.get("/discharges/1/edit").text


def test_a_new_battery_proposes_what_the_last_one_has(client):
    client.post("/batteries", data=BATTERY | {"reserve_percent": "35", "test_interval_days": "60"})
    page = soup(client.get("/batteries/new"))
    assert chosen(page, "reserve_percent") == "35"
    assert chosen(page, "test_interval_days") == "60"
    assert "As for Cabin." in said(page, "reserve_percent")
    assert chosen(page, "rated_ah") == ""
    assert "As for" not in client.get("/batteries/1/edit").text
