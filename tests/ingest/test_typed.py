"""Readings that were typed row by row."""

import pytest

from app.domain.errors import Refused
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
        ([["8:30", "9", "", "", ""], ["9:30", "nine", "", "", ""]], "row 2, current: got “nine”"),
        ([["8:30", "9", "", "", ""], ["9:30", "9", "", "500", ""]], "row 2, temperature"),
        ([["8:30", "9", "", "", ""], ["8:30", "9", "", "", ""]], "row 2, time: got “8:30”"),
        ([["9:30", "9", "", "", ""], ["8:30", "9", "", "", ""]], "row 2, time: got “8:30”"),
    ],
)
def test_a_typed_row_is_refused_by_its_number(rows, words):
    with pytest.raises(Refused) as refusal:
        read_typed(rows)
    assert words in str(refusal.value)
