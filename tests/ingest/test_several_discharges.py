"""Of several discharges in one file the owner chooses one."""

from datetime import datetime, timedelta

import pytest

from app.domain.errors import InvalidInput
from app.ingest.opened_file import open_file
from app.ingest.reader import read_file, read_opened

BEGIN = datetime(2026, 3, 1, 8, 0)


def record(*parts, step_min=10, volts=True, dated=True):
    """A log of parts (hours, amps, first volts, last volts); a gap of hours has no amps."""
    rows, minutes = [], 0
    for hours, amps, first, last in parts:
        count = round(hours * 60 / step_min)
        for i in range(count):
            moment = BEGIN + timedelta(minutes=minutes)
            clock = f"{moment:%Y-%m-%d %H:%M}" if dated else f"{minutes * 60}"
            v = first + (last - first) * i / count
            if amps is not None:
                rows.append(f"{clock},{amps}" + (f",{v:.3f}" if volts else ""))
            minutes += step_min
    heading = ("Time" if dated else "Time (s)") + ",Current (A)" + (",Voltage (V)" * volts)
    return "\n".join([heading, *rows, ""]).encode()


DISCHARGE, LONGER, CHARGE = (5, -9.0, 13.2, 11.6), (7, -8.0, 13.1, 11.5), (6, 12.0, 12.6, 14.4)
REST = (2, 0.0, 13.0, 13.0)
CYCLES = (REST, DISCHARGE, REST, CHARGE, REST, LONGER, REST, CHARGE)


def listed(data):
    return read_opened(open_file(data)).discharges


def test_they_are_listed_with_what_tells_them_apart():
    one, two = listed(record(*CYCLES))
    assert (one.number, two.number) == (1, 2)
    assert one.started_at == BEGIN + timedelta(hours=2)
    assert two.started_at == BEGIN + timedelta(hours=17)
    assert (one.charge_ah, one.hours) == (pytest.approx(43.5), pytest.approx(29 / 6))
    assert (two.charge_ah, two.hours) == (pytest.approx(8 * 41 / 6), pytest.approx(41 / 6))
    assert str(one.words) == ("1: 1 Mar 2026, 10:00, 43.5 Ah in 4.8 h, 13.2 to 11.7 V")


def test_which_one_is_meant_is_asked():
    with pytest.raises(InvalidInput, match=r"discharge”: .* one of the 2 .* 2: 2 Mar"):
        read_file(record(*CYCLES))
    with pytest.raises(InvalidInput, match=r"discharge”: “3”"):
        read_file(record(*CYCLES), discharge=3)


@pytest.mark.parametrize(("number", "hours", "amps"), [(1, 2, -9.0), (2, 17, -8.0)])
def test_the_chosen_one_is_read_alone(number, hours, amps):
    read = read_file(record(*CYCLES), discharge=number)
    assert set(read.readings.current_a) == {0.0, amps}
    assert read.started_at == BEGIN + timedelta(hours=hours) - timedelta(minutes=10)
    assert any(f"discharge {number} of 2" in one for one in read.assumptions)
    turned = record(*((h, -a, u, v) for h, a, u, v in CYCLES))
    assert set(read_file(turned, discharge=number).readings.current_a) == {0.0, -amps}


def test_a_file_with_one_needs_no_number_and_takes_no_other():
    data = record(DISCHARGE, CHARGE)
    assert len(read_file(data).readings) == len(read_file(data, discharge=1).readings)
    with pytest.raises(
        InvalidInput, match=r"“2” does not fit. It needs 1, the only one in the file"
    ):
        read_file(data, discharge=2)


def test_a_short_load_beside_it_is_no_second_one():
    assert listed(record((0.3, -2.0, 13.2, 13.1), CHARGE, LONGER)) == ()


def test_without_voltages_nothing_tells_which_way_is_discharge():
    assert listed(record(*CYCLES, volts=False)) == ()


@pytest.mark.parametrize("between", [(3, 0.0, 12.0, 12.0), (3, None, 0, 0)])
def test_a_charge_that_the_meter_did_not_see_parts_two_discharges(between):
    unseen = record((5, 9.0, 13.2, 11.6), between, (6, 9.0, 13.15, 11.5))
    one, two = listed(unseen)
    assert one.charge_ah == pytest.approx(45, abs=2)
    assert two.charge_ah == pytest.approx(54, abs=2)


@pytest.mark.parametrize(
    "parts",
    [
        # A rest in which the battery was not charged: the voltage is not where it began.
        [(3, 9.0, 13.2, 12.4), (3, 0.0, 12.9, 12.9), (3, 9.0, 12.5, 11.5)],
        # A load that goes on and off, as a refrigerator does.
        [(0.5, 9.0, 13.2, 13.1), (0.5, 0.0, 13.2, 13.2)] * 8,
        # A voltage that hardly falls tells nothing.
        [(3, 9.0, 13.25, 13.2), (3, 0.0, 13.3, 13.3), (3, 9.0, 13.25, 12.0)],
        # One row an hour is no gap.
        [(9, 9.0, 13.2, 11.5)],
    ],
)
def test_one_discharge_with_rests_stays_one(parts):
    assert listed(record(*parts)) == ()
    assert listed(record(*parts, step_min=60 if len(parts) == 1 else 10)) == ()


def test_a_record_without_dates_says_how_long_after_its_begin():
    one, two = listed(record(*CYCLES, dated=False))
    assert str(two.words).startswith("2: 17.0 h after the first reading, ")
    assert one.started_at is None
