"""What can hardly be is asked about, with what each reading of it gives."""

from datetime import UTC, datetime, timedelta

import pytest

from app.analysis.plausibility.plausibility import doubts_about
from app.analysis.plausibility.questions import DoubtKind, Known, OtherTest
from app.domain.chemistry import Chemistry
from app.domain.readings import Readings

VAN = Known(rated_ah=120, chemistry=Chemistry.LFP, nominal_v=12.8)
NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)


def ten_hours(amps=9.0, volts=13.2, counted=None, **other):
    """Eleven hourly readings; other names a row's own current or voltage, as in a3 or v3."""
    current, voltage = [amps] * 11, [volts] * 11
    for name, value in other.items():
        (current if name[0] == "a" else voltage)[int(name[1:])] = value
    return Readings.of([3600 * h for h in range(11)], current, voltage, counted_ah=counted)


def only(readings, known=VAN):
    (doubt,) = doubts_about(readings, known)
    return doubt


def given(doubt):
    """What each alternative gives, the one as it stands last."""
    assert doubt.alternatives[-1].as_it_stands or doubt.kind is DoubtKind.COUNTER
    return [one.charge_ah for one in doubt.alternatives]


def test_a_usual_test_is_not_asked_about():
    assert doubts_about(ten_hours(), VAN) == ()
    assert doubts_about(ten_hours(-9.0), VAN) == ()
    assert doubts_about(ten_hours(), Known()) == ()


def test_ninety_amps_typed_for_nine():
    doubt = only(ten_hours(90.0))
    assert doubt.kind is DoubtKind.CAPACITY
    # 90 A for 10 h are 900 Ah; a tenth is 90 Ah, a sixtieth 15 Ah, a thousandth is nothing.
    assert given(doubt) == pytest.approx([90, 15, 900])
    assert "900 Ah, 7.5 times the rated 120 Ah" in doubt.sentence
    assert "the currents are a tenth? then 90 Ah" in doubt.sentence


def test_milliamps_taken_for_amps():
    doubt = only(ten_hours(9589.9), Known(rated_ah=100))
    assert given(doubt) == pytest.approx([95.899, 26.639, 95899], rel=1e-4)
    assert "the currents are in mA? then 95.9 Ah" in doubt.sentence


@pytest.mark.parametrize(("amps", "asked"), [(14.3, False), (14.5, True)])
def test_up_to_a_fifth_above_the_rating_is_believed(amps, asked):
    # 143 and 145 Ah of 120: 1.19 and 1.21 times.
    assert bool(doubts_about(ten_hours(amps), VAN)) is asked


def test_a_load_beyond_what_such_a_battery_gives():
    minute = Readings.of([0, 60, 120, 180], [400.0] * 4)
    doubt = only(minute)
    assert doubt.kind is DoubtKind.CURRENT
    # 400 A for 3 min are 20 Ah; at 40 A it would be 2 Ah, too little to be a test.
    assert given(doubt) == pytest.approx([20])
    assert "up to 240 A is usual" in doubt.sentence


@pytest.mark.parametrize(("odd", "instead", "charge"), [(0.9, 9.0, 90), (90.0, 9.0, 90)])
def test_one_reading_ten_times_its_neighbours(odd, instead, charge):
    doubt = only(ten_hours(a5=odd))
    assert doubt.kind is DoubtKind.LONE
    assert (doubt.row, doubt.value) == (6, odd)
    # The one reading stands for an hour.
    assert given(doubt) == pytest.approx([charge, charge + odd - instead])
    assert f"{instead:g} A? then 90 Ah" in doubt.sentence


# A fridge on 6 A that draws 10.2 A in each third reading, every quarter of an hour.
FRIDGE = [10.2 if row % 3 == 2 else 6.0 for row in range(40)]


def logged(amps, every_h=1.0):
    return Readings.of([3600 * every_h * row for row in range(len(amps))], amps)


@pytest.mark.parametrize("every_h", [0.25, 1.0])
@pytest.mark.parametrize("row", [0, 7, 10])
@pytest.mark.parametrize(("odd", "instead"), [(90.0, 9.0), (102.0, 10.2), (60.0, 6.0)])
def test_a_slip_beside_a_load_that_goes_to_and_fro(every_h, row, odd, instead):
    amps = FRIDGE if every_h < 1 else FRIDGE[:12]
    assert doubts_about(logged(amps, every_h), VAN) == ()
    doubt = only(logged([*amps[:row], odd, *amps[row + 1 :]], every_h))
    assert (doubt.kind, doubt.row, doubt.value) == (DoubtKind.LONE, row + 1, odd)
    assert doubt.alternatives[0].value == pytest.approx(instead)
    assert "alone says" in doubt.sentence
    # Nothing is said of all the others.
    assert "the currents are" not in doubt.sentence


def test_one_reading_far_above_a_steady_load_is_asked_about():
    doubt = only(logged([10.0] * 5 + [30.0] + [10.0] * 5))
    assert doubt.finding == "Reading 6 alone says 30 A; no other says more than 10 A."
    assert given(doubt) == [None, pytest.approx(120)]
    assert [one.words for one in doubt.alternatives] == ["another figure", "right as entered"]
    # One that explains an impossible result is asked about instead of all the others.
    assert only(logged([10.0] * 5 + [500.0] + [10.0] * 5)).kind is DoubtKind.LONE


@pytest.mark.parametrize(
    "readings",
    [
        # A fridge that one reading caught beside its base load.
        logged([2.0] * 5 + [9.0] + [2.0] * 5),
        # A kettle of a minute: it hardly counts.
        logged([9.0] * 300 + [60.0] + [9.0] * 300, 1 / 60),
        # Two are a load.
        logged([10.0] * 5 + [30.0, 30.0] + [10.0] * 3),
        # Too few others.
        logged([10.0, 10.0, 35.0]),
        # A counter saw what flowed.
        ten_hours(a5=30.0, counted=[9.0 * h for h in range(11)]),
    ],
)
def test_what_may_well_be_a_load_is_not(readings):
    assert doubts_about(readings, VAN) == ()


def test_what_each_reading_gives_includes_the_noted_end():
    # 90 A for 10.5 h, the last half hour after the last reading; or ended before the last one.
    for ended_h, charge in ((10.5, 945), (9.0, 810)):
        ended = Known(120, Chemistry.LFP, 12.8, ended_after_s=3600 * ended_h)
        assert given(only(ten_hours(90.0), ended))[-1] == pytest.approx(charge)
    # What was counted before a cut-off ends there.
    cut = Known(120, Chemistry.LFP, 12.8, cut_off_v=11.0, ended_after_s=3600 * 10.5)
    assert given(only(ten_hours(90.0, v8=10.9), cut))[-1] == pytest.approx(720)
    counted = [90.0 * h for h in range(11)]
    ended = Known(120, Chemistry.LFP, 12.8, ended_after_s=3600 * 10.5)
    assert given(only(ten_hours(90.0, counted=counted), ended))[-1] == pytest.approx(945)


def test_several_high_readings_are_a_load():
    assert doubts_about(ten_hours(2.0, a3=20.0, a6=20.0, a9=20.0), VAN) == ()


@pytest.mark.parametrize(("volts", "instead"), [(132.0, 13.2), (1325.0, 13.25), (1.32, 13.2)])
@pytest.mark.parametrize("known", [VAN, Known(rated_ah=120)])
def test_volts_outside_the_cells_range(volts, instead, known):
    doubt = only(ten_hours(v4=volts), known)
    assert (doubt.kind, doubt.row, doubt.value) == (DoubtKind.VOLTAGE, 5, volts)
    assert doubt.alternatives[0].value == pytest.approx(instead)
    # Another voltage changes no amp-hours.
    assert given(doubt) == [None, None]


def test_no_volts_after_the_protection_opened_are_no_doubt():
    assert doubts_about(ten_hours(a10=0.0, v10=0.0), VAN) == ()


def test_a_counter_and_currents_that_differ_tenfold():
    doubt = only(ten_hours(90.0, counted=[9.0 * h for h in range(11)]))
    assert doubt.kind is DoubtKind.COUNTER
    assert given(doubt) == pytest.approx([90, 900])


def earlier(days, amps=9.0, hours=10):
    name = f"the test of {(NOW - timedelta(days=days)):%Y-%m-%d}"
    return OtherTest(name, NOW - timedelta(days=days), 3600.0 * hours, amps)


def dated(started_at, *others):
    return Known(120, Chemistry.LFP, 12.8, started_at=started_at, now=NOW, others=others)


def test_a_load_tenfold_that_of_last_time():
    # 0.9 A for 10 h are 9 Ah: 90 Ah at ten times as much.
    doubt = only(ten_hours(0.9), dated(NOW, earlier(90)))
    assert doubt.kind is DoubtKind.LOAD
    assert given(doubt) == pytest.approx([90, 9])
    assert doubts_about(ten_hours(5.0), dated(NOW, earlier(90))) == ()


def test_a_start_in_another_year():
    doubt = only(ten_hours(), dated(NOW.replace(year=2016), earlier(90), earlier(180)))
    assert (doubt.kind, doubt.value) == (DoubtKind.START, 2016)
    assert [one.value for one in doubt.alternatives] == [2026, 2016]
    assert only(ten_hours(), dated(NOW.replace(year=2016))).kind is DoubtKind.START
    # An old record typed in test by test is as old as the one before.
    assert doubts_about(ten_hours(), dated(NOW.replace(year=2016), earlier(3700))) == ()


def test_two_tests_at_a_time():
    # Ten hours that begin four hours after another ten: six are shared.
    doubt = only(ten_hours(), dated(NOW + timedelta(hours=4), earlier(0)))
    assert doubt.kind is DoubtKind.OVERLAP
    assert doubt.value == pytest.approx(6)
    assert doubts_about(ten_hours(), dated(NOW + timedelta(hours=11), earlier(0))) == ()
    # One may begin the moment the other ends.
    assert doubts_about(ten_hours(), dated(NOW + timedelta(hours=10), earlier(0))) == ()


def test_a_counter_that_was_reset_is_no_witness():
    counted = [9.0 * h for h in range(10)] + [0.0]
    assert doubts_about(ten_hours(counted=counted), VAN) == ()
