"""Delivered charge under real life: each oddity with its exact answer and the caveat it gets."""

import math

import pytest

from app.analysis.counting.delivered import deliver
from app.domain.readings import Readings

SECOND, MINUTE, HOUR = 1.0, 60.0, 3600.0


def log(hours, step_s, amps, volts=lambda h: 13.2 - 0.1 * h):
    times = [step_s * i for i in range(round(hours * HOUR / step_s) + 1)]
    return Readings.of(times, [amps(t / HOUR) for t in times], [volts(t / HOUR) for t in times])


def codes(readings, **options):
    return {caveat.code for caveat in deliver(readings, **options).caveats}


def test_hourly_hand_readings():
    readings = log(10, HOUR, lambda _: 9.0)
    assert deliver(readings).charge_ah == pytest.approx(90)
    assert codes(readings) == {"coarse"}


def test_a_reading_every_second():
    readings = log(5, SECOND, lambda _: 20.0)
    assert deliver(readings).charge_ah == pytest.approx(100)
    assert codes(readings) == set()


def test_constant_power():
    # 120 W, 13.4 to 12.0 V in a straight line over 8 h: 75.667239 Ah exactly.
    readings = log(8, MINUTE, lambda h: 120 / (13.4 - 1.4 * h / 8), lambda h: 13.4 - 1.4 * h / 8)
    assert deliver(readings).charge_ah == pytest.approx(75.667239, abs=1e-5)
    assert codes(readings) == {"constant_power"}


def test_a_resistor():
    # 0.6 ohm, 13.4 to 12.0 V in a straight line over 8 h: 169.333333 Ah exactly.
    readings = log(8, MINUTE, lambda h: (13.4 - 1.4 * h / 8) / 0.6, lambda h: 13.4 - 1.4 * h / 8)
    assert deliver(readings).charge_ah == pytest.approx(169.333333, abs=1e-6)
    assert codes(readings) == {"resistive"}


def test_a_thermostat_that_cycles():
    # Ten minutes on, five off, every second: two thirds of the time, but for the slopes.
    readings = log(6, SECOND, lambda h: 12.0 if (h * 60) % 15 < 10 else 0.0)
    result = deliver(readings)
    assert result.charge_ah == pytest.approx(48, abs=0.05)
    assert codes(readings) == {"cycled"}


def test_a_load_that_dropped_out_and_came_back():
    readings = log(10, MINUTE, lambda h: 0.0 if 4 <= h < 5 else 9.0)
    assert deliver(readings).charge_ah == pytest.approx(81, abs=9 / 60)
    assert codes(readings) == {"dropped_out"}


def test_a_gap():
    times = [MINUTE * i for i in range(601) if not 200 < i < 400]
    readings = Readings.of(times, [9.0] * len(times))
    assert deliver(readings).charge_ah == pytest.approx(90)
    assert codes(readings) == {"gap"}


def test_a_clock_that_was_set_forward():
    times = [MINUTE * i + (HOUR if i > 300 else 0) for i in range(601)]
    readings = Readings.of(times, [9.0] * 601)
    # An hour is counted that never was: it is said, and not silently taken out.
    assert deliver(readings).charge_ah == pytest.approx(99)
    assert "clock_change" in codes(readings)


def test_a_spike():
    readings = log(10, MINUTE, lambda h: 90.0 if math.isclose(h, 5) else 9.0)
    assert deliver(readings).charge_ah == pytest.approx(90)
    assert codes(readings) == {"spike"}


def test_a_logger_that_kept_running_after_the_cut_off():
    readings = log(
        12, MINUTE, lambda h: 9.0 if h <= 10 else 0.0, lambda h: 13.0 if h < 10 else 11.0
    )
    result = deliver(readings, cut_off_v=11.5)
    assert result.charge_ah == pytest.approx(90)
    assert "after_end" in codes(readings, cut_off_v=11.5)


def test_a_load_that_went_on_past_the_cut_off_did_not_come_back():
    def after_end(off_h):
        readings = log(
            12,
            MINUTE,
            lambda h: 0.0 if 10.5 < h < 10.5 + off_h else 9.0,
            lambda h: 13.0 if h < 10 else 11.0,
        )
        caveats = deliver(readings, cut_off_v=11.5).caveats
        return next(one.text for one in caveats if one.code == "after_end")

    assert "came back" not in after_end(0)
    assert "came back" in after_end(0.5)


def test_a_protection_that_opened_and_closed_again():
    def amps(h):
        return 9.0 if h <= 10 or 10.5 < h <= 10.6 else 0.0

    readings = log(12, MINUTE, amps, lambda h: 13.0 if h < 9.9 else 11.0)
    assert deliver(readings, empty_v=12.0).charge_ah == pytest.approx(90)
    # Without knowing where empty is, the second stretch counts too, and the drop-out is said.
    assert deliver(readings).charge_ah > 90.5
    assert "dropped_out" in codes(readings)


def test_a_rest_before_the_start():
    readings = log(11, MINUTE, lambda h: 9.0 if h >= 1 else 0.0)
    result = deliver(readings)
    assert result.charge_ah == pytest.approx(90, abs=9 / 60)
    assert result.duration_s == pytest.approx(10 * HOUR, abs=MINUTE)
    assert codes(readings) == {"rest_before"}


def test_a_drift_that_is_neither_resistor_nor_constant_power():
    readings = log(10, MINUTE, lambda h: 9.0 - 0.2 * h, lambda _: 13.0)
    assert codes(readings) == {"drift"}
    (drift,) = deliver(readings).caveats
    # Means of the first and the last fifth of the readings: none of them says so.
    assert drift.text == "The current went from about 8.8 A to about 7.2 A over the test."


def test_a_voltage_of_nothing_is_no_resistor():
    readings = log(10, MINUTE, lambda h: 9.0 - 0.2 * h, lambda h: 0.0 if h > 5 else 13.0)
    assert codes(readings) == {"drift"}


@pytest.mark.parametrize(
    ("celsius", "code"), [(4.9, "cold"), (5.0, None), (45.0, None), (45.1, "hot")]
)
def test_cold_is_below_5_and_hot_above_45_degrees(celsius, code):
    times = [MINUTE * i for i in range(601)]
    warmth = [20.0] * 600 + [celsius]
    found = codes(Readings.of(times, [9.0] * 601, temperature_c=warmth))
    assert found == ({code} if code else set())


@pytest.mark.parametrize(
    ("seconds", "span"), [(59, "59 s"), (60, "1 min"), (3000, "50 min"), (5400, "1.5 h")]
)
def test_how_long_a_logger_ran_on_is_said_in_the_unit_that_fits(seconds, span):
    times = [MINUTE * i for i in range(601)]
    on = Readings.of([*times, times[-1] + seconds], [9.0] * 601 + [0.0])
    (after,) = [one for one in deliver(on).caveats if one.code == "after_end"]
    assert after.text == f"1 reading after the end ({span}) does not count."


def test_the_coldest_and_the_hottest_reading_are_named():
    times = [MINUTE * i for i in range(601)]
    warmth = [47.0 if i == 300 else 3.0 if i == 100 else 20.0 for i in range(601)]
    found = deliver(Readings.of(times, [9.0] * 601, temperature_c=warmth)).caveats
    words = {one.code: one.text for one in found}
    assert words["cold"] == "The battery was at 3 °C, below 5 °C."
    assert words["hot"] == "The battery reached 47 °C, above 45 °C."
