"""Readings that were typed row by row."""

import pytest

from app.domain.errors import InvalidInput
from app.ingest.typed import read_typed
from tests.ingest.logs import currents


def test_typed_rows_take_a_decimal_comma_and_skip_empty_rows():
    rows = [["8:30", "9,0", "13,2", "", "100"], ["", "", "", "", ""], ["9:30", "9.1 A", "", "", ""]]
    imported = read_typed(rows)
    assert list(imported.readings.elapsed_s) == [0, 3600]
    assert currents(imported) == [9.0, 9.1]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], "at least two rows"),
        ([["8:30", "9", "", "", ""]], "two rows"),
        ([["8:30", "9", "", "", ""], ["9:30", "", "13", "", ""]], "row 2, current"),
        ([["8:30", "9", "", "", ""], ["", "9", "13", "", ""]], "row 2, time"),
        ([["8:30", "9", "", "", ""], ["9:30", "nine", "", "", ""]], "row 2, current”: “nine”"),
        ([["8:30", "9", "", "", ""], ["9:30", "9", "", "500", ""]], "row 2, temperature"),
        ([["8:30", "9", "", "", ""], ["8:30", "9", "", "", ""]], "row 2, time”: “8:30”"),
        ([["9:30", "9", "", "", ""], ["8:30", "9", "", "", ""]], "row 2, time”: “8:30”"),
    ],
)
def test_a_typed_row_is_refused_by_its_number(rows, words):
    with pytest.raises(InvalidInput) as refusal:
        read_typed(rows)
    assert words in str(refusal.value)


def test_a_counter_is_a_column_of_its_own_in_ah():
    rows = [["8:30", "9", "13,2", "", "", "0"], ["9:30", "9.1", "", "", "", "9050 mAh"]]
    assert list(read_typed(rows).readings.counted_ah) == [0, 9.05]
    assert read_typed([row[:5] for row in rows]).readings.counted_ah is None


def test_with_the_counter_alone_the_current_is_its_growth():
    """4.5 Ah in half an hour are 9 A, 10 Ah in the hour after it 10 A."""
    rows = [["0:00", "", "13", "", "", "0"], ["0:30", "", "", "", "", "4.5"]]
    imported = read_typed([*rows, ["1:30", "", "12", "", "", "14.5"]])
    assert currents(imported) == pytest.approx([9, 9, 10])


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([["0:00", "9", "", "", "", "x"], ["1:00", "9", "", "", "", "9"]], "row 1, count”: “x”"),
        ([["0:00", "", "", "", "", "0"], ["1:00", "9", "", "", "", "9"]], "row 1, current"),
        ([["0:00", "", "", "", "", "0"], ["1:00", "", "", "", "", ""]], "row 2, current"),
    ],
)
def test_a_counter_that_is_none_or_not_everywhere_is_refused_by_its_row(rows, words):
    with pytest.raises(InvalidInput) as refusal:
        read_typed(rows)
    assert words in str(refusal.value)


@pytest.mark.parametrize(
    "rows",
    [
        [["Time", "Volts", "Amps"], ["8:30", "13,2", "9,0"], ["9:30", "13", "9.1"]],
        [["Spannung (V)", "Strom (mA)", "Zeit"], ["13.2", "9000", "8:30"], ["13", "9100", "9:30"]],
        [["min", "", "current/A", "U"], ["0", "", "9", "13.2"], ["60", "", "9.1", "13"]],
        [
            ["", "Heure", "Courant (A)", "x", "Tension"],
            ["", "0h00", "9", "?", "13.2"],
            ["", "1h00", "9.1", "?", "13"],
        ],
    ],
)
def test_a_row_of_headings_that_was_pasted_tells_the_columns(rows):
    readings = read_typed(rows).readings
    assert list(readings.elapsed_s) == [0, 3600]
    assert list(readings.current_a) == pytest.approx([9.0, 9.1])
    assert list(readings.voltage_v) == pytest.approx([13.2, 13.0])


def test_a_wrong_cell_below_pasted_headings_is_named_where_it_stands():
    with pytest.raises(InvalidInput) as refusal:
        read_typed([["Volts", "Amps", "Time"], ["13", "nine", "8:30"], ["13", "9", "9:30"]])
    assert [problem.field for problem in refusal.value.problems] == ["current_1"]
    with pytest.raises(InvalidInput, match="headings with a time and a current"):
        read_typed([["Time", "Volts"], ["8:30", "13"]])
