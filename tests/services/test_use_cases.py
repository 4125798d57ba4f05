from datetime import timedelta

import pytest

from app.domain.entities.discharge import EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.errors import InvalidInput, LinkClosed, NotFound
from app.domain.readings import Readings
from app.services.access import shares
from app.services.entities import batteries, bin, discharges, events, meters
from app.services.example.demo import fill_with_demo
from app.services.store import Store
from tests.builders import NOW, battery_details, discharge_details, steady

TODAY = NOW.date()


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


def add(store, battery, **changes):
    details = discharge_details(**changes)
    return discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def test_what_was_entered_comes_back_as_it_was(store, battery):
    assert batteries.get_battery(store, battery.id).details == battery_details()
    test = add(store, battery)
    back = discharges.show_discharge(store, test.id).discharge.details
    assert back.readings == steady()
    assert back.started_at == NOW - timedelta(days=10)
    assert back.started_local.utcoffset() == timedelta(hours=1)


def test_tests_with_the_same_typical_meter_share_it(store, battery):
    one, two = add(store, battery), add(store, battery, days_ago=5)
    assert one.details.meter_id == two.details.meter_id
    assert len(meters.list_meters(store)) == 1


def test_a_report_counts_its_tests_and_the_next_one_due(store, battery):
    for i in range(4):
        readings = steady(hours=11 - i * 0.25, step_h=0.25)
        add(store, battery, days_ago=10 + 91 * (3 - i), readings=readings)
    report = batteries.show_battery(store, battery.id, TODAY).report
    assert len(report.tests) == 4
    assert report.next_test.due == (NOW - timedelta(days=10)).date() + timedelta(days=91)
    assert report.fade.rate_percent_per_year > 5
    assert not report.due


def test_two_tests_at_the_same_instant_are_refused(store, battery):
    add(store, battery)
    with pytest.raises(InvalidInput, match="no other test of this battery starts"):
        add(store, battery)
    assert len(batteries.show_battery(store, battery.id, TODAY).report.tests) == 1


def test_a_test_in_the_future_is_refused(store, battery):
    with pytest.raises(InvalidInput, match="up to now"):
        add(store, battery, days_ago=-1)


def test_a_refused_test_leaves_no_meter_behind(store, battery):
    with pytest.raises(InvalidInput):
        add(store, battery, readings=steady(amps=0.0))
    assert meters.list_meters(store) == []


def test_an_edit_keeps_what_it_replaced(store, battery):
    changed = batteries.change_battery(store, battery.id, battery_details(rated_ah=90.0), NOW)
    assert changed.version == 2
    test = add(store, battery)
    details = discharge_details(end_reason=EndReason.TIME)
    again = discharges.change_discharge(store, test.id, details, test.details.meter_id, NOW)
    assert again.version == 2
    with store.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT thing, thing_id, version FROM revision").all()
    assert sorted(kept) == [("battery", battery.id, 1), ("discharge", test.id, 1)]


def test_a_changed_battery_is_judged_anew(store, battery):
    test = add(store, battery)
    assert discharges.show_discharge(store, test.id).report.rated_ah == 100
    batteries.change_battery(store, battery.id, battery_details(rated_ah=90.0), NOW)
    report = discharges.show_discharge(store, test.id).report
    assert report.verdicts[0].against_ah == 90


def test_what_goes_to_the_bin_can_be_restored(store, battery):
    test = add(store, battery)
    event = events.add_event(store, battery.id, TODAY, EventKind.MOVED, "to the shade")
    discharges.bin_discharge(store, test.id, NOW)
    events.bin_event(store, event.id, NOW)
    with pytest.raises(NotFound):
        discharges.show_discharge(store, test.id)
    assert batteries.show_battery(store, battery.id, TODAY).report.tests == ()
    batteries.bin_battery(store, battery.id, NOW)
    assert sorted(item.kind for item in bin.list_bin(store)) == ["battery", "discharge", "event"]
    assert bin.count_binned(store) == 3
    batteries.restore_battery(store, battery.id)
    discharges.restore_discharge(store, test.id)
    events.restore_event(store, event.id)
    report = batteries.show_battery(store, battery.id, TODAY).report
    assert (len(report.tests), len(report.events)) == (1, 1)
    assert bin.list_bin(store) == []
    assert bin.count_binned(store) == 0


def test_restoring_a_test_whose_place_is_taken_is_refused(store, battery):
    first = add(store, battery)
    discharges.bin_discharge(store, first.id, NOW)
    add(store, battery)
    with pytest.raises(InvalidInput, match="no other test"):
        discharges.restore_discharge(store, first.id)


def test_a_link_opens_until_it_ends_or_is_revoked(store, battery):
    add(store, battery)
    share = shares.share_battery(store, battery.id, "Ro", NOW + timedelta(days=7), NOW)
    assert len(share.token) >= 22
    assert shares.open_share(store, share.token, NOW).batteries[0].name == "Bench battery"
    for when, token in ((NOW + timedelta(days=7), share.token), (NOW, share.token + "x")):
        with pytest.raises(LinkClosed):
            shares.open_share(store, token, when)
    shares.revoke_share(store, share.id, NOW)
    with pytest.raises(LinkClosed):
        shares.open_share(store, share.token, NOW)


def test_a_link_to_a_binned_battery_is_closed(store, battery):
    share = shares.share_battery(store, battery.id, "", None, NOW)
    batteries.bin_battery(store, battery.id, NOW)
    with pytest.raises(LinkClosed):
        shares.open_share(store, share.token, NOW)


@pytest.mark.parametrize(
    "call",
    [
        lambda store: batteries.get_battery(store, 99),
        lambda store: discharges.show_discharge(store, 99),
        lambda store: batteries.bin_battery(store, 99, NOW),
        lambda store: batteries.restore_battery(store, 99),
        lambda store: shares.share_battery(store, 99, "", None, NOW),
        lambda store: events.add_event(store, 99, TODAY, EventKind.OTHER, ""),
        lambda store: shares.revoke_share(store, 99, NOW),
    ],
)
def test_what_does_not_exist_is_not_found(store, call):
    with pytest.raises(NotFound):
        call(store)


def test_the_demo_shows_a_fade_and_a_lower_bound(store):
    fill_with_demo(store, TODAY)
    galley, lamps, trailer = batteries.list_batteries(store, TODAY).shown
    assert galley.fade.significant
    assert galley.fade.rate_percent_per_year > 2
    assert "at_least" in {test.kind for test in galley.tests}
    assert {test.kind for test in lamps.tests} == {"at_least"}
    assert not trailer.fade.significant
    assert [one.only_result for one in trailer.tests].count(True) == 1
    caveats = [
        {one.code for one in discharges.show_discharge(store, test.id).report.caveats}
        for test in galley.tests
    ]
    assert not set.intersection(*caveats), "a caveat that every test has tells nothing"


def test_a_test_is_not_restored_to_a_battery_in_the_bin(store, battery):
    test = add(store, battery)
    discharges.bin_discharge(store, test.id, NOW)
    batteries.bin_battery(store, battery.id, NOW)
    with pytest.raises(InvalidInput, match="its battery restored first"):
        discharges.restore_discharge(store, test.id)
    assert "Bench battery, test of" in " ".join(item.name for item in bin.list_bin(store))


def short_test(store, battery, days_ago=1):
    """One whose first voltage is 13.0 V."""
    readings = Readings.of([0.0, 3600.0, 7200.0], [9.0] * 3, [13.0, 12.9, 12.8])
    details = discharge_details(readings, days_ago=days_ago)
    return discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def test_what_a_refused_change_would_have_made_of_tests_is_shown_nowhere(store, battery):
    add(store, battery)
    short_test(store, battery)
    with pytest.raises(InvalidInput, match="first voltage under load"):
        batteries.change_battery(store, battery.id, battery_details(cut_off_v=13.05), NOW)
    batteries.change_battery(store, battery.id, battery_details(price=3.0), NOW)
    shown = batteries.list_batteries(store, TODAY).shown
    assert shown == batteries.list_batteries(Store(store.engine, store.staging), TODAY).shown
    assert shown[0].tests[0].capacity_ah == pytest.approx(90.0)


def test_a_test_that_cannot_be_judged_any_more_stays_in_the_bin(store, battery):
    test = short_test(store, battery)
    discharges.bin_discharge(store, test.id, NOW)
    batteries.change_battery(store, battery.id, battery_details(cut_off_v=13.05), NOW)
    with pytest.raises(InvalidInput, match="This test cannot be judged with the present data"):
        discharges.restore_discharge(store, test.id)
    assert batteries.list_batteries(store, TODAY).shown[0].tests == ()
    batteries.change_battery(store, battery.id, battery_details(), NOW)
    assert discharges.restore_discharge(store, test.id).id == test.id


def test_a_battery_that_was_ticked_twice_stands_beside_once(store, battery):
    other = batteries.add_battery(store, battery_details(name="Other"))
    wish = shares.ShareWish(beside=(other.id, battery.id, other.id))
    made = shares.share_battery(store, battery.id, "", None, NOW, wish)
    assert made.beside == (other.id,)
    assert len(shares.open_share(store, made.token, NOW).batteries) == 2
