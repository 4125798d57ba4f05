"""Two currents at one moment: asked about where it matters which of them is meant."""

import numpy as np
import pytest

from app.domain.errors import InvalidInput
from app.ingest.clock.time_order import two_currents
from app.ingest.reader import read_file


def log(second, *, form="clock", step_min=15, at=12, count=41):
    """Readings of 9 A, with a second row at the time of one of them."""
    lines = ["time_s,current_a,voltage_v" if form == "seconds" else "time,current_a,voltage_v"]
    for row in range(count):
        minutes = row * step_min
        clock = f"{8 + minutes // 60:02d}:{minutes % 60:02d}"
        time = {"clock": clock, "seconds": minutes * 60, "dated": f"2026-11-20 {clock}"}[form]
        volts = 13.2 - 0.02 * row
        lines.append(f"{time},9.0,{volts:.2f}")
        if row == at:
            lines.append(f"{time},{second},{volts:.2f}")
    return "\n".join(lines).encode() + b"\n"


@pytest.mark.parametrize("form", ["clock", "seconds", "dated"])
@pytest.mark.parametrize(("step_min", "at", "count"), [(15, 12, 41), (60, 2, 11)])
def test_a_second_current_at_one_time_is_refused_with_both_rows_and_values(
    form, step_min, at, count
):
    with pytest.raises(InvalidInput) as refused:
        read_file(log("19.0", form=form, step_min=step_min, at=at, count=count))
    said = str(refused.value)
    assert f"line {at + 3}, current" in said
    assert f"line {at + 2} says 9.0 at " in said
    assert "19.0 at " in said


@pytest.mark.parametrize("second", ["9.0", "9.01", "0.0"])
def test_what_hardly_matters_and_a_load_that_was_switched_off_are_no_two_currents(second):
    assert len(read_file(log(second)).readings) >= 41


def test_a_dense_log_keeps_rows_that_its_clock_cannot_tell_apart():
    """A row each second for three hours, with one second in which two rows were written."""
    times = np.sort(np.append(np.arange(10_800.0), 5000.0))
    currents = np.full(times.size, 9.0)
    currents[5001] = 19.0
    assert two_currents(times, currents) is None
    times[5002:] += 600.0
    assert two_currents(times, currents) == 5001


def test_two_batteries_in_one_file_are_still_told_as_such():
    lines = ["time_s,current_a", *(f"{row // 2 * 600},{(9, 3)[row % 2]}" for row in range(80))]
    with pytest.raises(InvalidInput, match="may come from two batteries"):
        read_file("\n".join(lines).encode())
