"""What is asked about a result that was noted without readings."""

from datetime import timedelta

import pytest

from app.analysis.plausibility.noted_result import doubts_about_result
from app.analysis.plausibility.questions import DoubtKind, Known, OtherTest
from app.domain.chemistry import Chemistry
from app.domain.readings import Readings
from tests.builders import NOW, discharge_details

NONE = Readings.of([], [])


def asked(others=(), **changes):
    test = discharge_details(NONE, **({"counted_ah": 96.4} | changes))
    known = Known(
        rated_ah=100.0,
        chemistry=Chemistry.LFP,
        nominal_v=12.8,
        started_at=test.started_at,
        now=NOW,
        others=tuple(others),
    )
    return doubts_about_result(test, known)


@pytest.mark.parametrize(
    ("changes", "kind", "words"),
    [
        ({"counted_ah": 96400.0}, DoubtKind.CAPACITY, "the result is in mAh? then 96.4 Ah"),
        ({"counted_ah": 950.0}, DoubtKind.CAPACITY, "meanings: a tenth of it? then 95 Ah; right"),
        ({"counted_ah": 9600.0}, DoubtKind.CAPACITY, "a hundredth of it? then 96 Ah"),
        ({"counted_ah": 9.55}, DoubtKind.CAPACITY, "ten times as much? then 95.5 Ah"),
        ({"counted_ah": 150.0}, DoubtKind.CAPACITY, "1.5 times the rated 100 Ah"),
        ({"duration_h": 0.2}, DoubtKind.CURRENT, "The load is 482 A; up to 200 A is usual"),
        (
            {"duration_h": 11.0, "mean_current_a": 4.0},
            DoubtKind.COUNTER,
            "4 A for 11 h would be 44 Ah, and the result says 96.4 Ah",
        ),
        ({"last_voltage_v": 104.0}, DoubtKind.VOLTAGE, "The last voltage is 104 V"),
        ({"counted_wh": 96.4}, DoubtKind.VOLTAGE, "The mean voltage is 1 V"),
        ({"days_ago": 4 * 365}, DoubtKind.START, "4 years away from today"),
    ],
)
def test_what_can_hardly_be_is_asked_about(changes, kind, words):
    (doubt,) = asked(**changes)
    assert doubt.kind is kind
    assert words in doubt.sentence


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"duration_h": 11.0, "mean_current_a": 9.0, "last_voltage_v": 10.1, "counted_wh": 1240.0},
        # What is no result at all is refused elsewhere.
        {"counted_ah": None},
    ],
)
def test_an_ordinary_result_is_not(changes):
    assert asked(**changes) == ()


def others(*charges_ah):
    return [
        OtherTest(f"test {days}", NOW - timedelta(days=100 + days), None, None, charge_ah)
        for days, charge_ah in enumerate(charges_ah)
    ]


def test_a_tenth_of_the_other_tests_is_asked_about():
    # One of them was followed: 9.4 A for 10 h are 94 Ah.
    followed = OtherTest("followed", NOW - timedelta(days=50), 36000.0, 9.4)
    (doubt,) = asked([*others(101, 97), followed], counted_ah=9.55)
    assert doubt.kind is DoubtKind.CAPACITY
    assert doubt.finding == ("The test comes to 9.55 Ah, about a tenth of what was to be expected.")
    assert [one.charge_ah for one in doubt.alternatives] == [pytest.approx(95.5), 9.55]
    assert doubt.alternatives[-1].as_it_stands
    # Whatever is stored later, the answer stays one.
    assert asked(counted_ah=9.55)[0].finding == doubt.finding


@pytest.mark.parametrize(
    ("before", "charge_ah"),
    [
        ((97, 99), 18.0),
        # A worn battery: ten times as much was never there, or is what its label cannot give.
        ((55, 30, 12), 9.55),
        ((97, 99), 12.5),
        # A short test before a whole one.
        ((9.5,), 96.4),
    ],
)
def test_a_small_result_that_may_well_be_is_not(before, charge_ah):
    assert asked(others(*before), counted_ah=charge_ah) == ()


def test_another_test_on_the_same_day_may_be_the_same_test():
    start = NOW - timedelta(days=10)
    same = OtherTest("the test of that day", start - timedelta(hours=3), None, None, 96.4)
    (doubt,) = asked([same])
    assert doubt.kind is DoubtKind.OVERLAP
    assert "with the same result" in doubt.sentence
    (other,) = asked([OtherTest("the test of that day", start, 36000.0, 9.0)])
    assert "this may be the same test" in other.sentence
    assert asked([OtherTest("the test of another day", start - timedelta(days=1), None, 9.0)]) == ()
