"""Loads as they are: what is kept, what is bridged and said, where a cycling load ends."""

import pytest

from app.analysis.counting.delivered import deliver
from app.analysis.evidence.conditions import DischargeConditions
from app.analysis.evidence.evidence import classify
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings


def hourly(currents, **columns):
    return Readings.of([3600.0 * i for i in range(len(currents))], currents, **columns)


def codes(result):
    return {caveat.code for caveat in result.caveats}


def test_the_peaks_of_a_compressor_are_counted():
    # Trapezoids: 8 x 1 A of base load and 6 A more at each of three readings inside.
    result = deliver(hourly([1, 1, 7, 1, 1, 7, 1, 7, 1]))
    assert result.charge_ah == pytest.approx(8 + 3 * 6)
    assert "spike" not in codes(result)
    assert "to_and_fro" in codes(result)


@pytest.mark.parametrize("peak", [4.0, 30.0, 60.0, 250.0])
def test_one_peak_that_is_no_slip_of_the_decimal_point_is_a_load(peak):
    assert deliver(hourly([9, 9, peak, 9, 9])).charge_ah == pytest.approx(27 + peak)


def test_two_readings_of_ten_times_as_much_are_a_load():
    result = deliver(hourly([9, 9, 90, 9, 9, 90, 9]))
    assert result.charge_ah == pytest.approx(4 * 9 + 2 * 90)
    assert "spike" not in codes(result)


def test_ten_times_as_much_twice_running_is_a_load():
    assert deliver(hourly([9, 9, 90, 85, 9, 9])).charge_ah == pytest.approx(3 * 9 + 175)


@pytest.mark.parametrize(
    ("odd", "as_it_stands"), [(90.0, "117.0 Ah"), (0.9, "27.9 Ah"), (85.0, "112.0 Ah")]
)
def test_one_slip_of_the_decimal_point_is_bridged_and_both_readings_are_worked_out(
    odd, as_it_stands
):
    # 4 h at 9 A; as it stands the odd reading counts for an hour instead of 9 A.
    result = deliver(hourly([9.0, 9.0, odd, 9.0, 9.0]))
    assert result.charge_ah == pytest.approx(36)
    (said,) = [one.text for one in result.caveats if one.code == "spike"]
    assert "counted it as 9 A, which gives 36.0 Ah in all" in said
    assert as_it_stands in said


def test_neighbours_that_disagree_make_no_slip():
    assert deliver(hourly([9, 9, 90, 20, 20])).charge_ah == pytest.approx(4.5 + 9 + 90 + 20 + 10)


def test_a_slip_is_found_behind_a_logger_s_noise_at_rest():
    noise = [0.01, 0.1, 0.01, 0.01, 0.1, 0.01]
    result = deliver(hourly([*noise, 9.0, 9.0, 90.0, 9.0, 9.0]))
    assert result.charge_ah == pytest.approx(0.5 * 9.01 + 36)


@pytest.mark.parametrize("peaks", [1, 2, 3])
def test_a_small_load_under_a_few_large_peaks_stays_a_load(peaks):
    # 1 A for 20 h; readings of 100 A next to each other.
    amps = [1.0] * 21
    amps[5 : 5 + peaks] = [100.0] * peaks
    result = deliver(hourly(amps))
    assert result.charge_ah == pytest.approx(20 + 99 * peaks)
    assert result.duration_s == 20 * 3600


def test_a_rest_of_days_with_noise_before_the_load_is_no_load():
    amps = [0.02 if i % 2 else 0.0 for i in range(50)] + [9.0] * 10
    result = deliver(hourly(amps))
    assert result.duration_s == pytest.approx(9.5 * 3600)


def test_a_noted_end_counts_though_a_cycling_load_was_off_at_the_last_reading():
    # 6 A every other hour: 6 h of trapezoids are 18 Ah; then half an hour at their mean of 3 A.
    result = deliver(hourly([0, 6, 0, 6, 0, 6, 0]), ended_after_s=6.5 * 3600)
    assert result.end_noted
    assert result.charge_ah == pytest.approx(18 + 1.5)
    assert result.end_current_a == pytest.approx(3.0)


def test_a_steady_load_that_was_off_at_the_last_reading_has_ended_by_then():
    with pytest.raises(InvalidInput, match="hours until the end"):
        deliver(hourly([9, 9, 9, 9, 0]), ended_after_s=4.5 * 3600)
    assert deliver(hourly([9, 9, 9, 9, 0]), ended_after_s=4 * 3600).charge_ah == pytest.approx(36)


def test_a_cycling_load_that_pauses_at_a_low_voltage_has_not_ended_before_its_noted_end():
    volts = [13.1, 13.0, 13.1, 12.9, 13.0, 11.9, 12.4, 11.6]
    amps = [6, 0, 6, 0, 6, 6, 0, 6]
    paused = deliver(hourly(amps, voltage_v=volts), empty_v=12.0, ended_after_s=7.5 * 3600)
    assert paused.end_s == 7.5 * 3600
    # Not noted, the first pause at an empty battery is its end.
    assert deliver(hourly(amps, voltage_v=volts), empty_v=12.0).end_s == 5 * 3600


def test_a_noted_end_behind_a_peak_goes_on_at_the_mean_of_the_load():
    # Means: (1+7)/2 each hour = 4 A; half an hour more are 2 Ah and not 3.5.
    result = deliver(hourly([1, 7, 1, 7, 1, 7]), ended_after_s=5.5 * 3600)
    assert result.charge_ah == pytest.approx(20 + 2)


def test_a_pause_at_the_end_leaves_time_to_fall_empty_at_the_load_s_mean():
    # 12.3 V is 2.5 % above empty: 0.3125 x 15 % of 29.25 Ah = 1.37 Ah must have gone; 1.5 Ah did.
    volts = [13.1, 13.0, 13.0, 12.9, 12.9, 12.8, 12.8, 12.6, 12.3]
    amps = [3, 0, 6, 0, 6, 0, 12, 3, 0]
    delivered = deliver(hourly(amps, voltage_v=volts), empty_v=12.0, ended_after_s=8.42 * 3600)
    about = DischargeConditions(ChargeCondition.FULL, EndReason.PROTECTION, None, 12.0, 40.0, 20.0)
    assert delivered.current_a[-1] == 0
    assert classify(delivered, about, None).kind is EvidenceKind.MEASURED


def test_a_load_to_and_fro_does_not_drift():
    result = deliver(hourly([2, 8, 2, 8, 2, 8, 2, 8, 2, 8, 8]))
    assert "drift" not in codes(result)
    (said,) = [one.text for one in result.caveats if one.code == "to_and_fro"]
    assert "between 2 A and 8 A" in said
