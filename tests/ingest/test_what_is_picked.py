"""A discharge is picked from a whole cycle, a battery from several."""

from datetime import datetime

import pytest

from app.domain.errors import InvalidInput
from app.ingest.reader import open_file, read_file, read_opened
from tests.ingest.logs import PLAIN, currents, read


def cycle(sign=1, volts=True, offset_h=0):
    """Rest, charge, rest, discharge for five hours, rest, charge: one row every ten minutes."""
    rows = []
    for i in range(90):
        hour = i / 6
        if 1 <= hour < 4:
            amps, u = -20.0, 13.0 + hour / 5
        elif 5 <= hour <= 10:
            amps, u = 9.0, 13.3 - (hour - 5) / 5
        elif 12 <= hour < 14:
            amps, u = -15.0, 12.5 + (hour - 12) / 2
        else:
            amps, u = 0.0, 13.2
        clock = f"{int(hour + offset_h) % 24:02d}:{i % 6 * 10:02d}"
        cells = [clock, f"{sign * amps}"] + ([f"{u:.2f}"] if volts else [])
        rows.append(",".join(cells))
    return "time,current_a" + (",voltage_v" if volts else "") + "\n" + "\n".join(rows)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_discharge_is_picked_from_a_whole_cycle(sign):
    imported = read(cycle(sign))
    assert len(imported.readings) == 33
    assert {abs(a) for a in currents(imported)} == {0.0, 9.0}
    assert imported.first_clock_s == (5 * 60 - 10) * 60
    assert any(", the discharge, and left out" in said for said in imported.assumptions)


def test_the_start_moves_with_the_discharge_that_was_picked():
    text = cycle().replace("\n", "\n2026-03-01 ").replace("2026-03-01 time", "time")
    assert read(text).started_at == datetime(2026, 3, 1, 4, 50)


def test_a_record_in_one_direction_is_left_as_it_is():
    assert not any("picked" in said for said in read(PLAIN).assumptions)


def test_charging_in_the_middle_of_a_discharge_is_not_picked_away():
    rows = ["9"] * 20 + ["-9"] * 5 + ["9"] * 20
    text = "time_s,A\n" + "\n".join(f"{60 * i},{a}" for i, a in enumerate(rows))
    imported = read(text)
    assert len(imported.readings) == 45


def test_which_of_several_batteries_is_meant_is_asked():
    data = b"time (h),battery,A\n0,one,9.0\n0,two,5\n1,one,9.1\n1,two,5\n2,one,9.0\n2,two,5\n"
    with pytest.raises(InvalidInput, match="one of the 2 in the file: one, two"):
        read_file(data)
    assert list(read_file(data, channel="two").readings.current_a) == [5, 5, 5]


def test_another_channel_can_be_chosen():
    opened = open_file(b"time (h),channel,A\n0,1,9\n0,2,5\n1,1,9\n1,2,5\n2,1,9\n2,2,5\n")
    imported = read_opened(opened, channel="2")
    assert imported.channels == ("1", "2")
    assert currents(imported) == [5, 5, 5]
    assert "Channel “2” of 2 was read." in imported.assumptions
