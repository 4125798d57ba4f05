"""Phones and codes of two tests that run at once are kept apart."""

import pytest

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.services.access import joining
from app.services.entities import batteries, runs
from tests.builders import NOW, battery_details

pytestmark = pytest.mark.any_database


def begun(store, name):
    battery = batteries.add_battery(store, battery_details(name=name))
    details = RunDetails(NOW, 0, ChargeCondition.FULL_RESTED, 0)
    return runs.start_run(store, battery.id, details, MeterKind.SHUNT, NOW).id


def test_what_ends_the_phones_of_one_test_leaves_those_of_the_other(store):
    one, other = begun(store, "Bench battery"), begun(store, "Second battery")
    for run in (one, other):
        joining.join(store, run, joining.make_code(store, run, NOW).code, NOW)
    codes = {run: joining.make_code(store, run, NOW).code for run in (one, other)}
    assert [phone.run_id for phone in joining.list_phones(store, NOW, other)] == [other]
    assert len(joining.list_phones(store, NOW)) == 2
    joining.end_phones(store, one, NOW)
    assert joining.list_phones(store, NOW, one) == []
    assert len(joining.list_phones(store, NOW, other)) == 1
    assert not joining.code_opens(store, one, codes[one], NOW)
    assert joining.code_opens(store, other, codes[other], NOW)


def test_a_page_that_asks_by_itself_does_not_keep_a_phone_fresh(store):
    run = begun(store, "Bench battery")
    secret = joining.join(store, run, joining.make_code(store, run, NOW).code, NOW)

    def used_at(now, *, uses):
        joining.find_phone(store, run, secret, now, uses=uses)
        (phone,) = joining.list_phones(store, now)
        return phone.used_at

    soon, later = NOW + joining.NOTED_EVERY / 2, NOW + 2 * joining.NOTED_EVERY
    assert used_at(soon, uses=True) == NOW
    assert used_at(later, uses=False) == NOW
    assert used_at(later, uses=True) == later
