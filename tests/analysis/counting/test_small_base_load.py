"""A base load of a few per cent of the peak is a load: while a test runs, and in its result."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from app.analysis.battery.expected_capacity import ExpectedCapacity
from app.analysis.counting.delivered import deliver
from app.analysis.counting.run_columns import RunColumns
from app.analysis.test_day.running import running_report
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind, typical
from app.domain.entities.run import ReadingGiven, Run, RunDetails, RunReading, RunState
from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings
from tests import ordinary_days, other_days, simulation
from tests.benchmarks.bench_coverage import Row, a_test

START = datetime(2026, 6, 1, 8, tzinfo=UTC)
# A kettle or a compressor of 12 A now and then, beside a refrigerator's electronics.
KETTLE = [12.0, 0.3, 0.3, 12.0, 0.3, 12.0, 0.3]


def reported(amps, volts=None, meter=MeterKind.SHUNT, every_min=60):
    volts = volts or [13.1 - 0.02 * i for i in range(len(amps))]
    given = [
        ReadingGiven(START + timedelta(minutes=every_min * i), a, v)
        for i, (a, v) in enumerate(zip(amps, volts, strict=True))
    ]
    details = RunDetails(START, every_min, ChargeCondition.FULL_RESTED, 1, "kettle")
    run = Run(1, 1, details, RunState.RUNNING, None, False, 1, "")
    readings = RunColumns.of([RunReading(i, 1, one, "hand", "", 1) for i, one in enumerate(given)])
    battery = BatteryDetails("b", Chemistry.LFP, 12.8, 100.0)
    guess = ExpectedCapacity(80, 90, 100, "a guess")
    return running_report(run, "b", battery, typical(meter), readings, guess, given[-1].at)


def codes(*args, **named):
    return {one.code for one in reported(*args, **named).warnings}


def test_a_base_load_beside_a_kettle_is_not_off():
    assert codes(KETTLE) == set()


@pytest.mark.parametrize(
    ("low_a", "meter", "is_off"),
    [
        # Zero within 0.05 A and half a step of 0.05 A: up to 0.1 A may be nothing.
        (0.1, MeterKind.SHUNT, True),
        (0.11, MeterKind.SHUNT, False),
        # A clamp's zero lies within 0.3 A: 0.35 A may be nothing.
        (0.35, MeterKind.CLAMP, True),
        (0.36, MeterKind.CLAMP, False),
        # No meter is believed to show less than 0.1 A at rest.
        (0.1, MeterKind.LABORATORY, True),
        # More than 5 % of 12 A is a load with any meter.
        (0.61, MeterKind.CLAMP, False),
    ],
)
def test_off_is_what_the_meter_cannot_tell_from_nothing(low_a, meter, is_off):
    assert ("load_off" in codes([12.0, 12.0, low_a], meter=meter)) is is_off


def test_the_volts_that_rise_when_a_kettle_goes_off_are_no_riddle():
    assert "odd_voltage" not in codes([12.0, 12.0, 0.3], [12.8, 12.7, 13.1])
    assert "odd_voltage" in codes([9.0, 9.0, 9.0], [12.8, 12.7, 13.1])


def test_the_end_is_expected_by_the_mean_of_a_load_with_pauses():
    # 6 A every other hour: 3 A on the mean, 18 Ah after six hours; 72 Ah more take 24 h.
    report = reported([0, 6, 0, 6, 0, 6, 0])
    assert report.mean_current_a == pytest.approx(3)
    assert report.middle_end == START + timedelta(hours=6 + 24)


def test_while_it_runs_no_base_load_of_simulated_days_is_called_off():
    chance = random.Random("base load while it runs")
    read = simulation.meter(chance, 1.0, 0.05, 0.1)
    for _ in range(30):
        day = ordinary_days.a_day(chance, "small base", 0.25, read)
        found = codes(list(day.readings.current_a), list(day.readings.voltage_v), every_min=15)
        assert not found & {"load_off", "cycling", "odd_current", "drift"}


@pytest.mark.parametrize("every_h", [1.0, 0.25])
@pytest.mark.parametrize(("days", "noted"), [(ordinary_days, True), (other_days, False)])
def test_the_capacity_holds_with_a_base_load_of_2_to_5_per_cent_of_the_peak(days, every_h, noted):
    chance = random.Random(f"base load {every_h} {noted}")
    held = measured = 0
    for _ in range(130):
        row = Row("", "small base", every_h, noted)
        result, truth_ah = a_test(days, chance, row, MeterKind.SHUNT)
        if result.kind is EvidenceKind.MEASURED:
            measured += 1
            held += abs(result.capacity_ah - truth_ah) <= result.budget.expanded_ah
    assert measured >= 60
    assert held >= 0.9 * measured


def hourly(amps):
    return Readings.of([3600.0 * i for i in range(len(amps))], amps)


def test_a_noted_end_may_lie_behind_hours_of_a_base_load():
    # 10 A for half of the time: a mean of 5 A, 5 % are 0.25 A; the base load is 0.2 A.
    amps = [10.0, 10.0, 10.0, 10.0, 0.2, 0.2, 0.2, 0.2]
    done = deliver(hourly(amps), ended_after_s=7 * 3600)
    # 3 h at 10 A, an hour on the way (5.1 Ah), 3 h at 0.2 A.
    assert done.charge_ah == pytest.approx(30 + 5.1 + 0.6)
    # A meter that cannot tell 0.2 A from nothing has seen it end by then.
    with pytest.raises(InvalidInput, match="hours until the end"):
        deliver(hourly(amps), ended_after_s=7 * 3600, rest_a=0.35)


def test_what_is_left_on_behind_a_load_that_tripped_is_no_load_without_a_word():
    assert deliver(hourly([10.0, 10.0, 10.0, 0.2, 0.2])).charge_ah == pytest.approx(20)


def test_a_zero_that_lies_below_nothing_charges_nothing():
    assert deliver(hourly([2.0, 2.0, -0.1, 2.0]), rest_a=0.35).charge_ah == pytest.approx(3.9)
    with pytest.raises(InvalidInput, match="current in reading 3"):
        deliver(hourly([2.0, 2.0, -0.5, 2.0]), rest_a=0.35)
