"""Results kept in memory belong to what they were computed from, whatever was stored of it."""

import pytest

from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.domain.entities.meter import Meter, MeterKind, typical
from app.domain.errors import InvalidInput
from app.domain.readings import Readings
from app.services.entities import batteries, discharges
from app.services.store import ResultCache
from tests.builders import NOW, battery_details, discharge_details, steady

TODAY = NOW.date()


def shown_ah(store, battery):
    tests = batteries.show_battery(store, battery.id, TODAY).report.tests
    return [round(test.mean_current_a * test.duration_h) for test in tests]


def test_a_refused_edit_leaves_no_result_for_the_next_one(store):
    battery = batteries.add_battery(store, battery_details())
    for days_ago, volts_lower in ((20, 0.0), (10, 1.0)):
        made = steady()
        made = Readings.of(
            made.elapsed_s, made.current_a, [volts - volts_lower for volts in made.voltage_v]
        )
        details = discharge_details(made, days_ago=days_ago)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    # The first test ends at 12.78 V after 72 Ah; the second was below that from its start.
    with pytest.raises(InvalidInput):
        batteries.change_battery(store, battery.id, battery_details(cut_off_v=12.78), NOW)
    batteries.change_battery(store, battery.id, battery_details(notes="Checked."), NOW)
    assert shown_ah(store, battery) == [90, 90]


@pytest.fixture
def computed(monkeypatch):
    """Counts the results that were computed and not found."""
    made = []
    monkeypatch.setattr("app.services.store.analyse_test", lambda *what: made.append(what))
    return made


def ask(cache, test=None, battery=None, meter=None, *, number=1):
    cache.result(
        Discharge(number, number, test or discharge_details(), 1),
        Battery(number, battery or battery_details(), 1),
        Meter(number, meter or typical(MeterKind.SHUNT), 1),
    )


def test_the_same_content_is_computed_once_under_whatever_number(computed):
    cache = ResultCache()
    ask(cache)
    ask(cache, number=2)
    assert len(computed) == 1


@pytest.mark.parametrize(
    "other",
    [
        {"test": discharge_details(ambient_c=5.0)},
        {"test": discharge_details(steady(amps=9.5))},
        {"test": discharge_details(steady(last_v=9.5))},
        {"battery": battery_details(rated_ah=90.0)},
        {"meter": typical(MeterKind.CLAMP)},
    ],
    ids=["details", "current", "voltage", "battery", "meter"],
)
def test_other_content_under_the_same_number_and_version_is_computed_anew(computed, other):
    cache = ResultCache()
    ask(cache)
    ask(cache, **other)
    assert len(computed) == 2


def test_a_column_moved_to_another_place_is_other_content():
    times, amps, values = [0.0, 60.0], [9.0, 9.0], [13.0, 12.0]
    in_volts = Readings.of(times, amps, voltage_v=values)
    in_degrees = Readings.of(times, amps, temperature_c=values)
    assert in_volts.digest != in_degrees.digest
    assert in_volts.digest == Readings.of(times, amps, voltage_v=values).digest


def test_the_results_asked_for_last_are_kept(computed):
    cache = ResultCache(size=2)
    for ambient_c in (1.0, 2.0, 1.0, 3.0, 1.0):
        ask(cache, discharge_details(ambient_c=ambient_c))
    assert len(computed) == 3
