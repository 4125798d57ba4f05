import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.analysis.evidence.result import analyse
from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings
from tests.simulation import volts

AMPS, CAPACITY_AH, STEP_H = 10.0, 100.0, 0.1


def log(stretches, chemistry=Chemistry.LFP, noise_v=0.0, seed=1):
    """Readings of stretches of load and rest: (hours, amps, charge left at its begin or None)."""
    chance = random.Random(seed)
    rows, hours, left = [], 0.0, 1.0
    for long_h, amps, begin in stretches:
        left = left if begin is None else begin
        for _ in range(round(long_h / STEP_H)):
            # A resistance of 10 mOhm lowers the voltage under load; rest gives that back.
            seen = volts(chemistry, max(left, 0.0)) - 0.01 * amps + chance.gauss(0, noise_v)
            rows.append((hours * 3600, amps, seen))
            left -= amps * STEP_H / CAPACITY_AH
            hours += STEP_H
    return Readings.of(*zip(*rows, strict=True), None, None)


def judged(readings):
    return analyse(
        readings,
        charge_condition=ChargeCondition.FULL_RESTED,
        end_reason=EndReason.TIME,
        rated_ah=CAPACITY_AH,
    ).evidence


@pytest.mark.parametrize("chemistry", [Chemistry.LFP, Chemistry.LITHIUM_ION, Chemistry.AGM])
@pytest.mark.parametrize("drawn_h", [6, 8, 9.5])
@pytest.mark.parametrize("noise_v", [0.0, 0.02])
def test_two_discharges_with_a_charge_that_was_not_logged_prove_nothing(
    chemistry, drawn_h, noise_v
):
    readings = log(
        [(drawn_h, AMPS, 0.98), (5, 0.0, None), (drawn_h, AMPS, 0.98)], chemistry, noise_v
    )
    evidence = judged(readings)
    assert evidence.kind is EvidenceKind.UNUSABLE
    assert evidence.reasons[0].code == "recharged"
    assert "rest of 5." in evidence.reasons[0].text


@settings(derandomize=True, max_examples=200)
@given(
    st.sampled_from([Chemistry.LFP, Chemistry.LITHIUM_ION, Chemistry.AGM]),
    st.lists(st.tuples(st.floats(0.3, 4), st.floats(0.2, 6)), min_size=2, max_size=8),
    st.floats(0, 0.02),
    st.integers(0, 1000),
)
def test_one_discharge_with_rests_is_one(chemistry, parts, noise_v, seed):
    stretches = [(0.3, AMPS, 0.99)]
    for on_h, off_h in parts:
        stretches += [(off_h, 0.0, None), (on_h, AMPS, None)]
    drawn = sum(on_h for on_h, amps, _ in stretches if amps) * AMPS / CAPACITY_AH
    if drawn > 0.97:
        return
    readings = log(stretches, chemistry, noise_v, seed)
    assert all(reason.code != "recharged" for reason in judged(readings).reasons)


def test_a_lighter_load_after_a_rest_is_no_charge():
    readings = log([(8, 20.0, 0.98), (2, 0.0, None), (4, AMPS, 0.98)])
    assert judged(readings).reasons[0].code != "recharged"


@pytest.mark.parametrize(
    ("after_a", "recharged"), [(8.9, False), (9.1, True), (10.9, True), (11.1, False)]
)
def test_only_the_same_load_on_both_sides_within_a_tenth_tells_a_charge(after_a, recharged):
    # Of 10 A a tenth is 1 A: under another load the voltages are not to be compared.
    readings = log([(8, AMPS, 0.98), (2, 0.0, None), (4, after_a, 0.98)])
    assert (judged(readings).reasons[0].code == "recharged") is recharged


def test_without_voltages_nothing_is_claimed():
    told = log([(8, AMPS, 0.98), (5, 0.0, None), (8, AMPS, 0.98)])
    blind = Readings.of(told.elapsed_s, told.current_a, None, None, None)
    assert judged(blind).reasons[0].code != "recharged"
