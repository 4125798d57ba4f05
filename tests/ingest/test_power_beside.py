"""A power that stands beside current and voltage is read as a witness, and as nothing else."""

import pytest

from app.domain.units.column import ColumnUse
from app.ingest.reader import open_file, read_file

HEAD = "time (h),current (A),voltage (V)"


def log(head, *rows):
    return "\n".join((head, *rows)).encode()


def plain(head, row, count=5):
    return log(head, *(f"{hour},{row}" for hour in range(count)))


def test_the_power_of_each_reading_comes_with_them():
    read = read_file(log(f"{HEAD},power (kW)", "0,9,12.5,0.11", "1,9,12.5,", "2,9,12.5,0.12"))
    assert list(read.readings.current_a) == [9, 9, 9]
    assert list(read.power_w)[::2] == pytest.approx([110, 120])
    assert read.power_w[1] != read.power_w[1]


def test_a_long_log_is_read_the_same_way():
    rows = [f"{i},9,12.5,112" for i in range(6000)]
    read = read_file(log("time (s),current (A),voltage (V),power (W)", *rows))
    assert list(read.power_w) == [112.0] * 6000


def test_without_a_current_the_power_gives_it_and_is_no_witness():
    read = read_file(plain("time (h),voltage (V),power (W)", "12.5,112.5"))
    assert list(read.readings.current_a) == pytest.approx([9] * 5)
    assert read.power_w is None


def test_the_power_is_picked_with_its_discharge():
    # Charging before and after: the volts fall from the third row to the sixth alone.
    amps, volts = [20, 20, -9, -9, -9, -9, 20, 20], [13, 13.5, 13, 12.8, 12.6, 12.4, 13, 13.5]
    rows = [f"{i},{a},{v},{i}" for i, (a, v) in enumerate(zip(amps, volts, strict=True))]
    read = read_file(log(f"{HEAD},power (W)", *rows))
    assert list(read.power_w) == [2, 3, 4, 5]


@pytest.mark.parametrize(
    "head",
    [
        # An extreme of the logger's interval, two of one rank, and a power in an unknown unit.
        f"{HEAD},max power (W)",
        f"{HEAD},power 1 (W),power 2 (W)",
        f"{HEAD},power (GW)",
        "time (h),current (A),temperature (°C),power (W)",
    ],
)
def test_a_power_that_may_be_another_bears_no_witness(head):
    opened = open_file(plain(head, ",".join(["9", "12.5", "112", "110"][: head.count(",")])))
    assert not any(use.role == "power" for use in opened.uses)
    assert opened.uses[1] is ColumnUse.CURRENT_A
    assert opened.guessed.questions == ()
