from datetime import date

import pytest

from app.domain.warranty import Warranty, months_after


@pytest.mark.parametrize(
    ("start", "years", "end"),
    [
        (date(2022, 2, 19), 5, date(2027, 2, 19)),
        (date(2024, 2, 29), 1, date(2025, 2, 28)),
        (date(2024, 2, 29), 4, date(2028, 2, 29)),
        (date(2023, 11, 30), 0.25, date(2024, 2, 29)),
        (date(2023, 1, 1), 2.7, date(2025, 9, 13)),
    ],
)
def test_the_last_day_by_years_of_the_calendar(start, years, end):
    assert Warranty(start, years).ends_on == end


def test_the_last_quarter_is_three_months():
    assert Warranty(date(2022, 5, 31), 5).last_quarter_from == date(2027, 2, 28)


@pytest.mark.parametrize("terms", [Warranty(None, 5), Warranty(date(2022, 1, 1)), Warranty()])
def test_without_years_or_a_day_there_is_no_end(terms):
    assert terms.ends_on is None
    assert terms.last_quarter_from is None


def test_months_go_over_the_new_year_both_ways():
    assert months_after(date(2026, 12, 31), 2) == date(2027, 2, 28)
    assert months_after(date(2026, 1, 15), -1) == date(2025, 12, 15)
