"""Edits, deletions and undo in any order: no version is ever lost, and undo is exact."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.meter import MeterKind
from app.domain.entity_kind import EntityKind
from app.domain.errors import NotFound, StaleEdit
from app.services.entities import batteries, discharges, history
from app.storage.database.engine import read_session
from app.storage.repositories import revisions
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.postgres import as_kept

ENTERED = {EntityKind.BATTERY: BatteryDetails, EntityKind.DISCHARGE: DischargeDetails}
NOTES = ("", "windy", as_kept("\0 “cold”"))
THINGS = st.sampled_from([EntityKind.BATTERY, EntityKind.DISCHARGE])


def plain(entered):
    """What was entered, with readings that can be compared."""
    told = getattr(entered, "readings", None)
    return entered if told is None else (replace(entered, readings=None), told.digest)


class Machine(RuleBasedStateMachine):
    """One battery and one test of it. The model is every version that either ever had."""

    def __init__(self, store):
        super().__init__()
        self.store = store

    @initialize()
    def begin(self):
        battery = batteries.add_battery(self.store, battery_details())
        test = discharges.add_discharge(
            self.store, battery.id, discharge_details(), MeterKind.SHUNT, NOW
        )
        self.ids = {EntityKind.BATTERY: battery.id, EntityKind.DISCHARGE: test.id}
        self.versions = {
            EntityKind.BATTERY: [plain(battery.details)],
            EntityKind.DISCHARGE: [plain(test.details)],
        }
        self.now = {EntityKind.BATTERY: battery.details, EntityKind.DISCHARGE: test.details}
        self.binned = dict.fromkeys(ENTERED, False)

    def edited(self, thing, entered):
        """The model of an edit: a version more, unless nothing changed."""
        self.now[thing] = entered
        if plain(entered) != self.versions[thing][-1]:
            self.versions[thing].append(plain(entered))

    def gone(self, thing):
        return self.binned[EntityKind.BATTERY] or self.binned[thing]

    @precondition(lambda self: not self.gone(EntityKind.BATTERY))
    @rule(rated_ah=st.sampled_from([90.0, 100.0, 110.5]), name=st.sampled_from("ab"))
    def edit_battery(self, rated_ah, name):
        details = replace(self.now[EntityKind.BATTERY], rated_ah=rated_ah, name=name)
        batteries.change_battery(self.store, self.ids[EntityKind.BATTERY], details, NOW)
        self.edited(EntityKind.BATTERY, details)

    @precondition(lambda self: not self.gone(EntityKind.DISCHARGE))
    @rule(hours=st.sampled_from([3, 9.5]), notes=st.sampled_from(NOTES))
    def edit_test(self, hours, notes):
        details = replace(self.now[EntityKind.DISCHARGE], notes=notes, readings=steady(hours, 8.7))
        test_id = self.ids[EntityKind.DISCHARGE]
        discharges.change_discharge(self.store, test_id, details, details.meter_id, NOW)
        self.edited(EntityKind.DISCHARGE, details)

    @precondition(lambda self: not self.gone(EntityKind.DISCHARGE))
    @rule(reason=st.sampled_from(["", "cold"]))
    def leave_out(self, reason):
        discharges.leave_out(self.store, self.ids[EntityKind.DISCHARGE], reason, NOW)
        details = replace(self.now[EntityKind.DISCHARGE], left_out_reason=reason)
        self.edited(EntityKind.DISCHARGE, details)

    @rule(thing=THINGS)
    def bin_or_restore(self, thing):
        if thing is EntityKind.DISCHARGE and self.binned[EntityKind.BATTERY]:
            return
        verb = "restore" if self.binned[thing] else "bin"
        calls = {
            ("bin", EntityKind.BATTERY): lambda n: batteries.bin_battery(self.store, n, NOW),
            ("bin", EntityKind.DISCHARGE): lambda n: discharges.bin_discharge(self.store, n, NOW),
            ("restore", EntityKind.BATTERY): lambda n: batteries.restore_battery(self.store, n),
            ("restore", EntityKind.DISCHARGE): lambda n: discharges.restore_discharge(
                self.store, n
            ),
        }
        calls[verb, thing](self.ids[thing])
        self.binned[thing] = not self.binned[thing]

    @rule(thing=THINGS)
    def undo_the_last_edit(self, thing):
        number = self.ids[thing]
        if self.gone(thing):
            with pytest.raises(NotFound):
                history.last_edit(self.store, thing, number, len(self.versions[thing]) - 1)
            return
        last = history.last_edit(self.store, thing, number, len(self.versions[thing]) - 1)
        if last is None:
            assert len(self.versions[thing]) == 1
            return
        seen = last.current.version
        back = history.bring_back(self.store, thing, number, last.edit.number, seen, NOW)
        assert plain(back.entered) == self.versions[thing][-2]
        self.edited(thing, back.entered)
        # The other tab with the same message.
        with pytest.raises(StaleEdit):
            history.bring_back(self.store, thing, number, last.edit.number, seen, NOW)

    @precondition(lambda self: not self.binned[EntityKind.BATTERY])
    @rule(thing=THINGS, which=st.integers(0, 30))
    def bring_some_version_back(self, thing, which):
        if self.gone(thing):
            return
        shown = history.show_history(self.store, thing, self.ids[thing])
        for edit in shown.edits[which : which + 1]:
            call = (self.store, thing, self.ids[thing], edit.number, shown.current.version, NOW)
            if edit.as_now:
                with pytest.raises(StaleEdit):
                    history.bring_back(*call)
            else:
                back = history.bring_back(*call)
                assert plain(back.entered) == self.versions[thing][edit.version - 1]
                self.edited(thing, back.entered)

    @invariant()
    def every_version_is_there(self):
        with read_session(self.store.engine) as session:
            for thing, entered in ENTERED.items():
                kept = revisions.of_thing(session, thing, self.ids[thing], 10**6, 10**6)
                past = [plain(revisions.rebuilt(entered, one.row)) for one in kept][::-1]
                assert past == self.versions[thing][:-1]
                if not self.gone(thing):
                    current = history.current_thing(session, thing, self.ids[thing])
                    assert plain(current.entered) == self.versions[thing][-1]
                    assert current.version == len(self.versions[thing])


def test_no_version_is_lost_and_undo_gives_back_equal_details(store):
    run_state_machine_as_test(
        lambda: Machine(store),
        settings=settings(
            max_examples=15,
            stateful_step_count=15,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
