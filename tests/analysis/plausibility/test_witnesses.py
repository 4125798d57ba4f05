"""Columns beside the current that bear it out or contradict it."""

import pytest

from app.analysis.plausibility.plausibility import doubts_about
from app.analysis.plausibility.questions import DoubtKind, Known
from app.domain.chemistry import Chemistry
from app.domain.readings import Readings

RATED = {"rated_ah": 120, "chemistry": Chemistry.LFP, "nominal_v": 12.8}
VAN = Known(**RATED)


def hourly(amps, volts=12.5, gauge=None, counted=None):
    amps = amps if isinstance(amps, list) else [amps] * 11
    hours = [3600.0 * i for i in range(len(amps))]
    return Readings.of(hours, amps, [volts] * len(amps), None, gauge, counted)


def asked(readings, watts=None):
    return doubts_about(readings, Known(**RATED, power_w=watts))


def test_watts_that_bear_the_current_out_ask_nothing():
    # 12.5 V x 8 A = 100 W, in whole watts; discharge written with either sign.
    assert asked(hourly(8.0), [100.0] * 11) == ()
    assert asked(hourly(-8.0), [-100.0] * 11) == ()


@pytest.mark.parametrize(("watts", "by_power"), [(1000.0, 800), (10.0, 8), (125.0, 100)])
def test_watts_that_contradict_the_current_tell_what_each_gives(watts, by_power):
    # 8 A for 10 h are 80 Ah; watts over 12.5 V are 80, 0.8 and 10 A.
    (doubt,) = asked(hourly(8.0), [watts] * 11)
    assert doubt.kind is DoubtKind.POWER
    assert [one.charge_ah for one in doubt.alternatives] == pytest.approx([by_power, 80])
    assert doubt.alternatives[-1].as_it_stands
    assert "The column of watts contradicts the currents" in doubt.sentence
    assert f"the watts are right? then {by_power} Ah" in doubt.sentence


def test_currents_in_milliamps_are_a_thousand_times_the_watts():
    found = asked(hourly(8001.5), [100.0] * 11)
    (doubt,) = [one for one in found if one.kind is DoubtKind.POWER]
    assert doubt.alternatives[0].charge_ah == pytest.approx(80)
    assert "a factor of 1000" in doubt.sentence


@pytest.mark.parametrize(("watts", "is_asked"), [(109.5, False), (110.5, True)])
def test_up_to_a_tenth_is_what_two_meters_may_differ_by(watts, is_asked):
    # 12.49 V x 8 A = 99.92 W: 9.6 and 10.6 % above, in steps of 0.1 W, 0.01 V and 0.01 A.
    readings = hourly([8.0] * 10 + [8.01], volts=12.49)
    assert bool(asked(readings, [watts] * 11)) is is_asked


def test_rounding_of_a_small_current_is_no_contradiction():
    # 1.4 A shown as 1: 17.5 W / 12.5 V lie 40 % above it; half a step of 1 A are 50 %.
    assert asked(hourly([1.0] * 60), [17.5] * 60) == ()
    # In steps of 0.1 A the same is a contradiction.
    assert asked(hourly([1.0] * 59 + [1.1]), [17.5] * 60)


def test_means_beside_looks_at_a_load_that_turns_to_and_fro_are_no_contradiction():
    # On for half of the time at 10 A: the mean power is 62.5 W all along, the looks are 10 and 0 A,
    # one more of them on than off: 5.45 against 5 A.
    amps = [10.0 if i % 2 == 0 else 0.0 for i in range(11)]
    assert asked(hourly(amps), [62.5] * 11) == ()


def test_watts_that_are_all_zero_say_nothing():
    assert asked(hourly(8.0), [0.0] * 11) == ()


def test_watts_without_volts_say_nothing():
    assert asked(hourly(8.0, volts=None), [1000.0] * 11) == ()


def test_watts_tell_which_way_a_lone_reading_is():
    amps = [9.0] * 11
    amps[5] = 90.0
    # 12.5 V x 9 A = 112.5 W.
    (doubt,) = asked(hourly(amps), [112.5] * 11)
    assert doubt.kind is DoubtKind.LONE
    assert "By its watts and volts it is 9 A." in doubt.sentence


def falling(first, last):
    return [first + (last - first) * i / 10 for i in range(11)]


@pytest.mark.parametrize(
    ("amps", "last", "is_asked"),
    [
        # A fall of 60 % of 120 Ah is 72 Ah; the currents come to 72, 40, 33, 140 and 7.2 Ah.
        (7.2, 40, False),
        (4.0, 40, False),
        (3.3, 40, True),
        (14.0, 40, False),
        (0.72, 40, True),
        # 8 % may be a gauge that hardly moves: nothing is said of it.
        (7.2, 92, False),
    ],
)
def test_only_a_gauge_that_falls_twice_as_much_or_half_is_a_question(amps, last, is_asked):
    found = asked(hourly(amps, gauge=falling(100, last)))
    assert [one.kind for one in found] == ([DoubtKind.GAUGE] if is_asked else [])


def test_a_gauge_that_contradicts_tells_what_each_reading_gives():
    (doubt,) = asked(hourly(0.72, gauge=falling(100, 40)))
    assert "The gauge does not fit the rated capacity" in doubt.finding
    assert [one.charge_ah for one in doubt.alternatives] == pytest.approx([72, 7.2])
    assert "it falls by 60 %, about 72 Ah of the rated 120 Ah, while the count is 7.2 Ah" in (
        doubt.finding
    )
    assert "the currents are ten times as much? then 72 Ah" in doubt.sentence


def test_a_gauge_that_stands_at_its_ends_is_no_witness_there():
    # 10 A for 10 h; full for three hours, empty for the last three: 100 to 20 % in four hours of
    # 40 Ah are 96 Ah of the rating: 2.4 times, and that is asked. 60 % in them are 72 Ah: 1.8.
    steep = [100, 100, 100, 100, 79, 61, 40, 20, 0, 0, 0]
    flat = [100, 100, 100, 100, 85, 70, 55, 40, 0, 0, 0]
    assert [one.kind for one in asked(hourly(10.0, gauge=steep))] == [DoubtKind.GAUGE]
    assert asked(hourly(10.0, gauge=flat)) == ()


def test_without_a_rating_a_gauge_says_nothing():
    assert doubts_about(hourly(0.72, gauge=falling(100, 40)), Known()) == ()
