import pytest

from app.analysis.counting.delivered import deliver
from app.domain.errors import InvalidInput
from app.domain.readings import Readings
from tests.builders import steady


def codes(result):
    return [caveat.code for caveat in result.caveats if not caveat.minor]


def hourly(currents, **columns):
    return Readings.of([3600.0 * i for i in range(len(currents))], currents, **columns)


def test_the_sign_of_the_logger_changes_nothing():
    plus = deliver(hourly([9.0, 9.1, 8.9]))
    minus = deliver(hourly([-9.0, -9.1, -8.9]))
    assert plus.charge_ah == minus.charge_ah > 0


def test_scaling_the_current_scales_the_charge():
    once, twice = deliver(hourly([9.0, 8.0, 7.0])), deliver(hourly([18.0, 16.0, 14.0]))
    assert twice.charge_ah == pytest.approx(2 * once.charge_ah)


def test_splitting_an_interval_on_a_straight_line_changes_nothing():
    whole = deliver(Readings.of([0, 3600], [10.0, 8.0]))
    split = deliver(Readings.of([0, 1800, 3600], [10.0, 9.0, 8.0]))
    assert split.charge_ah == pytest.approx(whole.charge_ah)


def test_the_first_reading_at_the_cut_off_is_the_end():
    result = deliver(hourly([9.0] * 5, voltage_v=[13, 12.5, 10.0, 9.5, 9.0]), cut_off_v=10.0)
    assert result.charge_ah == pytest.approx(18)
    assert result.reached_cut_off


@pytest.mark.parametrize(
    ("end", "reached"),
    [
        ([10.804, 10.802], True),
        # More than one step above, or more than 3 mV; level, or rising.
        ([10.806, 10.804], False),
        ([10.802, 10.802, 10.802], False),
        ([10.802, 10.804, 10.802], False),
    ],
)
def test_a_step_of_the_voltages_above_the_cut_off_is_reached_where_they_fall(end, reached):
    """Voltages in steps of 2 mV, an hour apart."""
    volts = [*(round(10.806 + step / 500, 3) for step in range(30, 0, -1)), *end]
    result = deliver(hourly([9.0] * len(volts), voltage_v=volts), cut_off_v=10.8)
    assert result.reached_cut_off is reached
    assert result.last_row == len(volts) - 1


def test_a_finer_voltage_above_the_cut_off_is_not_reached():
    fine = [round(10.802 + step / 2000, 4) for step in range(40, -1, -1)]
    few = [13.2, 12.9, 12.0, 11.5, 10.803]
    for volts in (fine, few):
        result = deliver(hourly([9.0] * len(volts), voltage_v=volts), cut_off_v=10.8)
        assert not result.reached_cut_off


def test_readings_after_the_load_went_off_are_not_counted():
    result = deliver(hourly([9.0, 9.0, 9.0, 0.0, 0.0]))
    assert result.charge_ah == pytest.approx(18)
    assert result.duration_s == 7200


def test_a_rest_before_the_start_is_no_run_time():
    times = [60.0 * i for i in range(121)]
    result = deliver(Readings.of(times, [0.0] * 60 + [9.0] * 61))
    assert result.duration_s == pytest.approx(3600, abs=31)
    assert result.mean_current_a == pytest.approx(9.0)


def test_a_noted_end_after_the_last_reading_counts_at_the_last_current():
    result = deliver(hourly([9.0] * 3), ended_after_s=2.5 * 3600)
    assert result.charge_ah == pytest.approx(22.5)
    assert result.end_noted


@pytest.mark.parametrize("ended_after_h", [None, 1.5, 2.5])
def test_its_figures_are_plain_numbers_that_a_file_can_hold(ended_after_h):
    """A number of numpy would be written with its type."""
    ended_after_s = None if ended_after_h is None else 3600 * ended_after_h
    result = deliver(hourly([9.0] * 3, voltage_v=[13.2] * 3), ended_after_s=ended_after_s)
    figures = [one for one in vars(result).values() if isinstance(one, float)]
    assert len(figures) > 5
    assert {type(one) for one in figures} == {float}


def test_a_noted_end_before_the_last_reading_stops_the_count_there():
    result = deliver(hourly([9.0] * 5), ended_after_s=2.5 * 3600)
    assert result.charge_ah == pytest.approx(22.5)


def test_energy_needs_voltages():
    assert deliver(hourly([9.0] * 3)).energy_wh is None
    assert deliver(hourly([9.0] * 3, voltage_v=[12.0] * 3)).energy_wh == pytest.approx(216)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (Readings.of([0], [9.0]), "at least two readings"),
        (Readings.of([0, 3600, 1800], [9.0] * 3), "reading 3"),
        (Readings.of([0, 3600, 3600], [9.0] * 3), "reading 3"),
        (Readings.of([0, 3600], [0.0, 0.0]), "discharge current"),
        (Readings.of([0, 60, 120, 180, 240], [9.0, 9.0, -5.0, 9.0, 9.0]), "reading 3"),
    ],
)
def test_what_is_no_discharge_is_refused_by_name(readings, words):
    with pytest.raises(InvalidInput, match=words):
        deliver(readings)


def test_a_noted_end_before_the_load_is_refused():
    with pytest.raises(InvalidInput, match="hours until the end"):
        deliver(hourly([9.0] * 5), ended_after_s=10.0)


def test_a_reading_at_rest_shows_that_the_end_came_before_it():
    # Under load until 2 h, at rest at 3 h: 9 A × 2.9 h may have flowed, 9 A × 3.1 h cannot.
    rested = hourly([9.0, 9.0, 9.0, 0.0])
    assert deliver(rested, ended_after_s=2.9 * 3600).charge_ah == pytest.approx(26.1)
    with pytest.raises(InvalidInput, match="It needs 1 to 3 h"):
        deliver(rested, ended_after_s=3.1 * 3600)


@pytest.mark.parametrize(
    ("step_h", "latest_h"),
    [
        # A quarter of eight hours under load, or one and a half times the longest step.
        (0.1, 10.0),
        (2.0, 11.0),
    ],
)
def test_without_one_the_end_may_lie_a_quarter_of_the_run_behind_or_a_step_and_a_half(
    step_h, latest_h
):
    readings = steady(8.0, step_h=step_h)
    latest = deliver(readings, ended_after_s=latest_h * 3600)
    assert latest.charge_ah == pytest.approx(9 * latest_h)
    with pytest.raises(InvalidInput, match=f"to {latest_h:g} h"):
        deliver(readings, ended_after_s=(latest_h + 0.05) * 3600)


@pytest.mark.parametrize(("next_v", "charge_ah"), [(10.04, 9.0), (10.06, 27.0)])
def test_a_voltage_recovers_above_the_meter_s_noise(next_v, charge_ah):
    # 10.05 V is half a percent above the cut-off. Below that the hour before was the end; above it
    # was a dip, and the end is 9.8 V after 3 h.
    volts = [13.0, 9.9, next_v, 9.8, 9.7]
    assert deliver(hourly([9.0] * 5, voltage_v=volts), cut_off_v=10.0).charge_ah == charge_ah


@pytest.mark.parametrize(("last_v", "charge_ah"), [(12.0, 18.0), (12.01, 36.0)])
def test_a_load_that_goes_off_at_exactly_the_empty_voltage_ends_the_test(last_v, charge_ah):
    # 2 h at 9 A; else the protection is not what opened, and three hours more count: an hour each
    # falling to nothing and rising from it (4.5 + 4.5) and one at 9 A.
    volts = [13.0, 12.5, last_v, 13.0, 12.9, 12.8]
    readings = hourly([9.0, 9.0, 9.0, 0.0, 9.0, 9.0], voltage_v=volts)
    assert deliver(readings, empty_v=12.0).charge_ah == pytest.approx(charge_ah)


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        (Readings.of([0, 3600, 18000, 21600], [9.0] * 4), "gap"),
        (hourly([9.0, 9.0, 9.0, 8.0, 8.0, 7.0]), "drift"),
        (hourly([9.0, 9.0, 0.0, 9.0, 9.0]), "dropped_out"),
        (hourly([9.0, 0.0, 9.0, 0.0, 9.0, 9.0]), "cycled"),
        (hourly([9.0] * 6, temperature_c=[30, 35, 40, 46, 44, 40]), "hot"),
        (hourly([9.0] * 6, temperature_c=[8, 6, 4, 4, 5, 6]), "cold"),
        (hourly([9.0, 9.0, 90.0, 9.0, 9.0, 9.0]), "spike"),
    ],
)
def test_what_is_doubtful_is_flagged_and_counted(readings, code):
    assert code in codes(deliver(readings))


def test_a_slip_of_the_pen_is_counted_as_its_neighbours():
    assert deliver(hourly([9.0, 9.0, 90.0, 9.0, 9.0])).charge_ah == pytest.approx(36)


def test_a_steady_load_has_no_caveat():
    assert codes(deliver(steady())) == []


def test_one_reading_is_no_discharge_and_two_are():
    with pytest.raises(InvalidInput, match=r"“1” does not fit. It needs at least two readings"):
        deliver(hourly([9.0]))
    assert deliver(hourly([9.0, 9.0])).charge_ah == pytest.approx(9.0)


def test_a_noted_end_too_late_says_the_hours_that_are_possible():
    """Under load from 0 to 10 h: a quarter of that later at the most, and after the second one."""
    readings = hourly([9.0] * 11)
    assert deliver(readings, ended_after_s=12.5 * 3600).charge_ah == pytest.approx(9.0 * 12.5)
    for hours in (12.6, 0.9):
        with pytest.raises(InvalidInput, match=r"1 to 12\.5 h, from the second reading") as refused:
            deliver(readings, ended_after_s=hours * 3600)
        assert f"{hours:g}" in str(refused.value)
