import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.charts.ticks import date_ticks, number_ticks
from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import DecimalShown, Preferences


@pytest.mark.parametrize(
    ("low", "high", "most", "texts"),
    [
        (144.1, 246.2, 6, ["160", "180", "200", "220", "240"]),
        (0, 12.9, 6, ["0.0", "2.5", "5.0", "7.5", "10.0", "12.5"]),
        (10.1, 13.5, 3, ["12"]),
        (-2, 2, 5, ["−2", "−1", "0", "1", "2"]),
        (0.001, 0.0095, 4, ["0.0025", "0.0050", "0.0075"]),
        (3, 3, 5, []),
    ],
)
def test_ticks_stand_on_round_numbers(low, high, most, texts):
    assert [text for _, text in number_ticks(low, high, most)] == texts


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6), st.integers(2, 12))
def test_ticks_are_never_too_many_and_never_outside(low, width, most):
    ticks = number_ticks(low, low + width, most)
    assert len(ticks) <= most
    # Far from zero, neighbouring numbers may lie further apart than a millionth of the width.
    slack = 1e-6 * width + 2 * math.ulp(abs(low) + width)
    for value, text in ticks:
        assert low - slack <= value <= low + width + slack
        assert float(text.replace("−", "-")) == pytest.approx(value, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("first", "last", "most", "texts"),
    [
        (date(2022, 8, 3), date(2028, 6, 1), 7, ["2023", "2024", "2025", "2026", "2027", "2028"]),
        (date(2022, 8, 3), date(2028, 6, 1), 3, ["2024", "2026", "2028"]),
        (
            date(2026, 5, 20),
            date(2027, 5, 20),
            4,
            ["Jul 2026", "Oct 2026", "Jan 2027", "Apr 2027"],
        ),
        (date(2026, 1, 5), date(2026, 3, 20), 4, ["Feb 2026", "Mar 2026"]),
        (date(2026, 1, 5), date(2026, 1, 20), 4, []),
    ],
)
def test_dates_stand_on_firsts_of_months_or_years(first, last, most, texts):
    assert [text for _, text in date_ticks(first, last, most)] == texts


def test_ticks_follow_the_reader():
    reader = Reader(Preferences(decimals=DecimalShown.COMMA))
    ticks = number_ticks(-0.5, 0.5, 3)
    assert [reader.read(text) for _, text in ticks] == ["−0,5", "0,0", "0,5"]
