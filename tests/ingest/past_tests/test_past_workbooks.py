"""Workbooks of past tests, made by another library; packed tables; and what is no such table."""

import gzip
from datetime import date, datetime, time, timedelta

import openpyxl
import pytest

from app.domain.errors import InvalidInput
from app.domain.past_tests.answers import Answers
from app.domain.past_tests.columns import PastColumn
from app.ingest.past_tests.kind_of_table import is_past_tests
from app.ingest.past_tests.reader import read_past_tests
from app.ingest.past_tests.table import MAX_PAST_ROWS, MAX_TABLE_ROWS, open_past_tests
from tests.ingest import workbooks

TODAY = date(2026, 6, 1)
HEADINGS = ("Date", "Capacity (Ah)", "Temp °C", "Ended by")
TESTS = (
    (date(2022, 3, 14), 99.1, 21, "BMS"),
    (date(2023, 3, 31), 96.4, 18.5, "BMS"),
    (date(2024, 4, 20), 92.0, None, "time"),
)
DAYS = ["2022-03-14", "2023-03-31", "2024-04-20"]


def read(data, part=None, rated_ah=100.0, **given):
    return read_past_tests(open_past_tests(data, part=part), Answers(**given), TODAY, rated_ah)


def days(found):
    assert [one.sentence for one in found.problems] == []
    assert [one.words for one in found.questions] == []
    return [one.day.isoformat() for one in found.tests]


def test_a_workbook_with_a_title_above_and_a_mean_below():
    found = read(
        workbooks.xlsx(
            ("My battery",), (), HEADINGS, *TESTS, (), ("Mean", 95.8), title="Tests", at=(2, 3)
        )
    )
    assert days(found) == DAYS
    assert [one.counted_ah for one in found.tests] == [99.1, 96.4, 92.0]
    assert [one.ambient_c for one in found.tests] == [21, 18.5, None]
    assert [one.row for one in found.tests] == [5, 6, 7]
    assert any("Tests" in said for said in found.assumptions)


def test_dates_in_words_in_a_workbook_are_dates():
    rows = (("14 March 2022", "99,1"), ("31. März 2023", "96,4"), ("20 Apr 2024", "92,0"))
    found = read(workbooks.xlsx(("Date", "Ah"), *rows))
    assert days(found) == DAYS
    assert [one.counted_ah for one in found.tests] == [99.1, 96.4, 92.0]


def test_moments_durations_and_shares_of_a_workbook():
    rows = (
        (datetime(2022, 3, 14, 18, 30), 0.991, timedelta(hours=9, minutes=54)),
        (datetime(2023, 3, 31, 9, 0), 0.964, time(9, 38)),
    )
    found = read(workbooks.xlsx(("Date", "% of rated", "duration"), *rows))
    assert days(found) == DAYS[:2]
    assert [one.clock for one in found.tests] == [time(18, 30), time(9)]
    assert [one.counted_ah for one in found.tests] == pytest.approx([99.1, 96.4])
    assert [one.duration_h for one in found.tests] == pytest.approx([9.9, 9 + 38 / 60])


def test_numbers_of_days_that_lost_their_format():
    found = read(workbooks.xlsx(("Date", "Ah"), (44634, 99.1), (45016, 96.4), (45402, 92.0)))
    assert days(found) == DAYS


def test_of_several_sheets_the_ones_with_tests_are_offered():
    def more(book):
        workbooks.fill(book.create_sheet("Shopping"), (("what", "price"), ("fuse", 3), ("lug", 2)))
        workbooks.fill(book.create_sheet("Old"), (HEADINGS, *TESTS[:2]))

    data = workbooks.xlsx(HEADINGS, *TESTS, title="New", more=more)
    assert open_past_tests(data).parts == ("New", "Old")
    assert days(read(data, "Old")) == DAYS[:2]


def test_a_spreadsheet_of_the_open_format_and_packed_text():
    found = read(workbooks.ods(("Date", "Ah"), *((one[0].isoformat(), one[1]) for one in TESTS)))
    assert days(found) == DAYS
    text = b"date;Ah\n14.3.2022;99,1\n31.3.2023;96,4\n20.4.2024;92,0\n"
    assert days(read(gzip.compress(text))) == DAYS
    assert days(read(workbooks.zipped(tests__csv=text))) == DAYS


def test_a_merged_day_is_refused_with_its_row():
    found = read(workbooks.xlsx(HEADINGS, TESTS[0], (None, 98.0, 20, "BMS"), *TESTS[1:]))
    (problem,) = found.problems
    assert "line 3" in problem.sentence


def test_errors_of_formulas_are_no_amounts():
    book = openpyxl.Workbook()
    workbooks.fill(book.active, (("Date", "Ah"), *(one[:2] for one in TESTS)))
    book.active.cell(3, 2, "#DIV/0!")
    found = read(workbooks.saved(book))
    assert [one.row for one in found.left_out] == [3]


def test_more_rows_than_tests_anybody_made_are_refused_with_the_limit():
    lines = [f"{date(1990, 1, 1) + timedelta(days=i)},96.4" for i in range(MAX_PAST_ROWS + 1)]
    with pytest.raises(InvalidInput, match=f"at most {MAX_PAST_ROWS}"):
        read(("date,Ah\n" + "\n".join(lines)).encode())
    noted = [line.replace(",", ": ") + " Ah" for line in lines]
    with pytest.raises(InvalidInput, match=f"at most {MAX_PAST_ROWS}"):
        read("\n".join(noted).encode())
    assert len(read(("date,Ah\n" + "\n".join(lines[:-1])).encode()).tests) == MAX_PAST_ROWS


def test_more_rows_than_a_club_has_are_refused_with_the_limit_of_a_table():
    lines = ["battery,date,Ah", *(["T1,2024-03-31,96.4"] * (MAX_TABLE_ROWS + 1))]
    with pytest.raises(InvalidInput, match=f"at most {MAX_TABLE_ROWS} rows"):
        read("\n".join(lines).encode())


def test_the_limit_of_a_table_of_many_batteries_is_that_of_the_chosen_one():
    lines = [f"T{i % 300:03d},{date(1990, 1, 1) + timedelta(days=i)},96.4" for i in range(1200)]
    book = ("battery,date,Ah\n" + "\n".join(lines)).encode()
    assert read(book).questions[0].name == "battery"
    found = read(book, battery="T007")
    assert len(found.tests) == 4
    assert not found.left_out
    assert any("1196 rows of other batteries (T000, T001" in said for said in found.assumptions)


@pytest.mark.parametrize("rated", [None, 200.0, 100.0])
def test_a_capacity_without_a_unit_is_asked_where_two_units_fit(rated):
    found = read(b"date,capacity\n2022-03-14,99.1\n2023-03-31,96.4\n", rated_ah=rated)
    asked = [choice.value for one in found.questions for choice in one.choices]
    assert asked == (["1:capacity_ah", "1:rated_percent"] if rated == 200 else [])


def test_percent_need_a_rated_capacity():
    found = read(b"date,% of rated\n2022-03-14,99.1\n", rated_ah=None)
    assert "the rated capacity is not known" in found.problems[0].sentence


def test_a_table_of_tests_is_told_from_a_log():
    assert is_past_tests(b"date,Ah\n2022-03-14,99.1\n2023-03-31,96.4\n")
    assert is_past_tests(workbooks.xlsx(HEADINGS, *TESTS))
    assert not is_past_tests(workbooks.as_csv())
    assert not is_past_tests(workbooks.xlsx(workbooks.HEADINGS, *workbooks.ROWS))
    counted = "\n".join(f"2024-04-20 {8 + i:02d}:00,{10 * i}" for i in range(9))
    assert not is_past_tests(("time,Ah\n" + counted).encode())
    assert not is_past_tests(b"\x89PNG\r\n")


def test_two_uses_of_one_kind_are_refused():
    opened = open_past_tests(b"date,Ah,mAh\n2022-03-14,99.1,99100\n")
    found = read_past_tests(
        opened,
        Answers(uses=tuple(map(PastColumn, ("day", "capacity_ah", "capacity_mah")))),
        TODAY,
        100.0,
    )
    assert "one column only" in found.problems[0].sentence
