"""Workbooks as people have them give the readings that the same log gives as text."""

from datetime import date, datetime, time, timedelta
from pathlib import Path

import numpy as np
import pytest
from openpyxl.styles import Font

from app.domain.errors import InvalidInput
from app.ingest.opened_file import open_file, undecided_part
from app.ingest.reader import read_file
from tests.ingest.workbooks import (
    BEGIN,
    HEADINGS,
    NUMBERED,
    ROWS,
    as_csv,
    entry,
    fill,
    ods,
    with_entry,
    xlsx,
)

AS_TEXT = read_file(as_csv())
TABLE = (HEADINGS, *ROWS)
# Written in the kind of file that came before: one sheet with the log.
OLD = Path(__file__).with_name("old_workbook.xls").read_bytes()


def same(data, like=AS_TEXT, **asked):
    """What is read of a file, once its readings are found to be those of another."""
    read = read_file(data, **asked)
    mine, theirs = read.readings, like.readings
    assert len(mine) == len(theirs)
    for name in ("elapsed_s", "current_a", "voltage_v"):
        one, other = np.array(getattr(mine, name)), np.array(getattr(theirs, name))
        # A spreadsheet keeps times as fractions of a day.
        assert one == pytest.approx(other, abs=2e-3 if name == "elapsed_s" else 1e-12), name
    return read


def said(read):
    return " ".join(map(str, read.assumptions))


def test_a_workbook_reads_as_the_same_log_in_text():
    read = same(xlsx(*TABLE))
    assert read.started_at == BEGIN
    assert "Sheet “Log” was read, from row 1 on." in read.assumptions
    assert "decimal" not in said(read)


def test_so_does_an_open_document():
    assert same(ods(*TABLE)).started_at == BEGIN


def test_so_does_the_older_kind():
    assert same(OLD).started_at == BEGIN


def since(rows=ROWS):
    return [(moment - BEGIN, *rest) for moment, *rest in rows]


def stacked(*above):
    return xlsx(*above, *TABLE)


def with_cells(changes):
    """The log with cells changed, by row of readings and column."""
    rows = [list(row) for row in ROWS]
    for (row, column), value in changes.items():
        rows[row][column] = value
    return rows


def merged(book):
    book.active.merge_cells("A1:C1")
    book.active["A1"] = "Capacity test of the house battery"


def bold(book):
    """Cells that have a look but hold nothing, as far as a sheet goes."""
    for row in (60, 5_000, 1_048_576):
        for column in (1, 40):
            book.active.cell(row, column).font = Font(bold=True)


# What people have, each with what they would expect of it: the same readings.
SAME = {
    "words above the table": stacked(["Capacity test"], ["Battery", "under the bench"], [None]),
    "a date and a time above it": stacked(["Date", date(2026, 3, 1), "Start", time(20, 0)], []),
    "numbers above it": stacked(["Rated", 100, "Ah", 12.8, "V"], ["Cut-off", 11.5]),
    "empty columns at the left": xlsx(*TABLE, at=(7, 4)),
    "an empty column between": xlsx(*((a, None, b, c) for a, b, c in TABLE)),
    "an empty row below the headings": xlsx(HEADINGS, [], *ROWS),
    "units below the headings": xlsx(("Time", "Current", "Voltage"), (None, "A", "V"), *ROWS),
    "a total below": xlsx(*TABLE, ["Total", 54.9], ["Mean", 9.2, 12.8]),
    "a total that is a sum alone": xlsx(*TABLE, [None, 331.2, None]),
    "remarks below an empty row": xlsx(*TABLE, [], ["made on the ferry"], [], ["Ah", 54.9, 1]),
    "a merged heading": xlsx([], *TABLE, more=merged),
    "a look without content": xlsx(*TABLE, more=bold),
    "a remark in the last row that there is": xlsx(
        *TABLE, more=lambda book: book.active.cell(1_048_576, 1, "the end")
    ),
    "a column of booleans": xlsx((*HEADINGS, "Load on"), *((*row, True) for row in ROWS)),
    "a column of errors": xlsx((*HEADINGS, "Ah"), *((*row, "#DIV/0!") for row in ROWS)),
    "a column of links to nowhere": ods((*HEADINGS, "Ah"), *((*row, "#N/A") for row in ROWS)),
    "numbers that are text": xlsx(
        HEADINGS, *((moment, f"{a:.3f}", f"{v:.3f}") for moment, a, v in ROWS)
    ),
    "numbers that are text with commas": xlsx(
        HEADINGS,
        *((m, str(a).replace(".", ","), str(v).replace(".", ",")) for m, a, v in ROWS),
    ),
    "some numbers as text with commas": xlsx(
        HEADINGS, *with_cells({(3, 1): str(ROWS[3][1]).replace(".", ","), (8, 2): "13,0"})
    ),
    "dates that are text": xlsx(HEADINGS, *((str(moment), a, v) for moment, a, v in ROWS)),
    "dates that are text, day first": xlsx(
        HEADINGS, *((f"{moment:%d.%m.%Y %H:%M}", a, v) for moment, a, v in ROWS)
    ),
    "midnight, which a sheet shows as a date alone": xlsx(*TABLE, formats={0: "yyyy-mm-dd hh:mm"}),
    "a date beside a time of day": xlsx(
        ("Date", *HEADINGS), *((m.date(), m.time(), a, v) for m, a, v in ROWS)
    ),
    "a date in the first row of each day": xlsx(
        ("Date", *HEADINGS),
        *((m.date() if i in (0, 24) else None, m.time(), a, v) for i, (m, a, v) in enumerate(ROWS)),
    ),
    "times of day past midnight": xlsx(HEADINGS, *((m.time(), a, v) for m, a, v in ROWS)),
    "spans": xlsx(HEADINGS, *since()),
    "spans in an open document": ods(HEADINGS, *since()),
    "spans above a day": xlsx(
        HEADINGS, *((span + timedelta(hours=22), a, v) for span, a, v in since())
    ),
    "spans above a day, shown as a time of day": xlsx(
        HEADINGS,
        *((22 / 24 + i / 144, a, v) for i, (_, a, v) in enumerate(ROWS)),
        formats={0: "h:mm"},
    ),
    "minutes": xlsx(("min", *HEADINGS[1:]), *((10 * i, *r[1:]) for i, r in enumerate(ROWS))),
    "dates as the numbers that they are": xlsx(
        HEADINGS, *((46_082 + 5 / 6 + i / 144, a, v) for i, (_, a, v) in enumerate(ROWS))
    ),
    "dates and times as the numbers that they are": xlsx(
        ("Date", *HEADINGS),
        *(
            (46_082 + (20 * 6 + i) // 144, (20 * 6 + i) % 144 / 144, a, v)
            for i, (_, a, v) in enumerate(ROWS)
        ),
    ),
    "moments with the units in the headings in German": xlsx(
        ("Zeit", "Strom [A]", "Spannung [V]"), *ROWS
    ),
    "a name of a sheet with everything": xlsx(*TABLE, title="Träge 1 & <2>; “x”"),
    "a long text in a remark": xlsx((*HEADINGS, "Note"), *((*row, "x" * 9_000) for row in ROWS)),
    "a text with tabs, lines and quotes": xlsx(
        (*HEADINGS, "Note"), *((*row, 'a\tb\n"c"') for row in ROWS)
    ),
    "an empty row in the middle": xlsx(HEADINGS, *ROWS[:9], [], *ROWS[9:]),
}


@pytest.mark.parametrize("name", SAME)
def test_an_odd_workbook_gives_the_same_readings(name):
    same(SAME[name])


@pytest.mark.parametrize("name", [name for name in SAME if "numbers that they are" in name])
def test_numbers_that_are_dates_say_when_the_test_began(name):
    assert read_file(SAME[name]).started_at == BEGIN


def test_what_stands_below_is_left_out_and_said():
    read = read_file(SAME["a total below"])
    assert "2 rows below the readings were left out, from row 38 on." in read.assumptions
    read = read_file(SAME["a total that is a sum alone"])
    assert "1 row below the readings was left out (row 38)." in read.assumptions


def test_a_row_is_called_by_its_number_on_the_sheet():
    wrong = with_cells({(5, 1): "strong"})
    with pytest.raises(InvalidInput, match="line 15, current”: “strong”"):
        read_file(xlsx(HEADINGS, *wrong, at=(9, 2)))


def test_numbers_that_a_spreadsheet_took_for_dates_are_refused_by_their_row():
    wrong = with_cells({(4, 1): date(2026, 1, 9)})
    with pytest.raises(InvalidInput, match="line 6, current”: “2026-01-09"):
        read_file(xlsx(HEADINGS, *wrong))


def test_an_error_among_the_readings_is_no_value():
    read = read_file(xlsx(HEADINGS, *with_cells({(4, 2): "#N/A", (9, 1): "#DIV/0!"})))
    assert len(read.readings) == len(ROWS) - 1
    assert np.isnan(read.readings.voltage_v[4])
    assert "1 row without time or current was left out (line 11)." in read.assumptions


def test_days_counted_from_1904_are_the_same_days():
    def older(book):
        from openpyxl.utils.datetime import CALENDAR_MAC_1904

        book.epoch = CALENDAR_MAC_1904

    def cells(book):
        older(book)
        fill(book.active, TABLE)

    assert same(xlsx(more=cells)).started_at == BEGIN
    days = [(44_620 + 5 / 6 + i / 144, *row[1:]) for i, row in enumerate(ROWS)]
    assert same(xlsx(HEADINGS, *days, more=older)).started_at == BEGIN


def test_seconds_that_look_like_days_stay_seconds():
    rows = [(40_000 + 10 * i, 9.1, 13.2 - i / 100) for i in range(30)]
    read = read_file(xlsx(("Time (s)", "A", "V"), *rows))
    assert read.readings.elapsed_s[-1] == 290


def test_a_gauge_in_shares_is_in_percent():
    shares = [(*row, 1 - i / 40) for i, row in enumerate(ROWS)]
    read = read_file(xlsx((*HEADINGS, "SoC"), *shares, formats={3: "0%"}))
    assert list(read.readings.gauge_percent[:3]) == [100, 97.5, 95]
    assert "“SoC” holds fractions of 1; Fadeline read them as per cent." in read.assumptions
    percent = [(*row, 100 - i) for i, row in enumerate(ROWS)]
    read = read_file(xlsx((*HEADINGS, "SoC"), *percent))
    assert list(read.readings.gauge_percent[:2]) == [100, 99]


def test_a_formula_counts_by_its_stored_value():
    data = xlsx(*TABLE)
    name = "xl/worksheets/sheet1.xml"
    text = entry(data, name).decode()
    first = "<v>9.1</v>"
    assert first in text
    same(with_entry(data, name, text.replace(first, f"<f>9+0.1</f>{first}")))


def test_what_is_kept_of_a_workbook_with_macros_is_its_cells():
    data = with_entry(xlsx(*TABLE), "xl/vbaProject.bin", b"\xd0\xcf\x11\xe0" + bytes(600))
    same(data)


def test_which_of_several_sheets_is_meant_is_asked():
    data = xlsx(*TABLE, more=lambda b: fill(b.create_sheet("Second"), (HEADINGS, *ROWS[:9])))
    with pytest.raises(InvalidInput, match="one of the 2 in the file: Log, Second"):
        read_file(data)
    same(data, part="Log")
    assert len(read_file(data, part="Second").readings) == 9
    with pytest.raises(InvalidInput, match=r"“Third” does not fit. It needs one of the 2"):
        read_file(data, part="Third")


def test_only_sheets_with_something_like_a_log_are_asked_about():
    def others(book):
        fill(book.create_sheet("Notes"), [["Made on the ferry"], ["in the rain"]])
        fill(book.create_sheet("Costs"), [["What", "€"], ["Battery", 900], ["Cable", 40]])
        fill(book.create_sheet("Years"), [["Year", "Tests"], [2024, 2], [2025, 3]])
        book.create_sheet("Empty")
        book.create_chartsheet("Course")

    opened = open_file(xlsx(*TABLE, more=others))
    assert opened.parts == ("Log",)
    assert undecided_part(opened, None) == ()
    same(xlsx(*TABLE, more=others))


def hide(book):
    fill(book.create_sheet("Kept"), (HEADINGS, *ROWS[:9]))
    book["Kept"].sheet_state = "hidden"


def test_a_hidden_sheet_is_asked_about_only_where_no_other_holds_a_log():
    same(xlsx(*TABLE, more=hide))
    assert len(read_file(xlsx(["Course"], more=hide)).readings) == 9
    assert len(read_file(xlsx(*TABLE, more=hide), part="Kept").readings) == 9


def sealed():
    """As much as tells of a workbook with a password: the name of what holds the sealed one."""
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "EncryptedPackage".encode("utf-16-le")


def chart_alone(book):
    book.create_chartsheet("Course")
    del book["Log"]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (sealed(), "Take the password off"),
        (ods(*TABLE, manifest="<m:encryption-data/>"), "Take the password off"),
        (xlsx(*TABLE)[:2_000], "Copy or send the whole file again"),
        (
            with_entry(xlsx(*TABLE), "xl/worksheets/sheet1.xml", b"<worksheet><sheet"),
            "whole file again",
        ),
        (OLD[:700], "Copy or send the whole file again"),
        (xlsx(), "an empty workbook"),
        (xlsx(more=chart_alone), "the numbers behind the chart, row by row"),
        (
            xlsx(["To do"], ["buy a fuse"]),
            "begins with “To do”. Fadeline reads rows with a time and a current",
        ),
        (
            xlsx(["To do"], more=lambda b: fill(b.create_sheet("B"), [["x"]])),
            "No readings were found in 2 sheets or files (Log, B)",
        ),
        (xlsx(HEADINGS), "rows with a time and a current"),
        (xlsx(("Time", "Remark"), *((m, a) for m, a, _ in ROWS)), "one column with the current"),
    ],
    ids=iter(NUMBERED),
)
def test_a_workbook_that_cannot_be_read_is_told_what_to_do(data, words):
    with pytest.raises(InvalidInput) as refusal:
        read_file(data)
    assert words in str(refusal.value)
    assert "ave the sheet as" not in str(refusal.value)
    assert "“file”" not in str(refusal.value)


def test_a_long_workbook_is_read_the_fast_way_to_the_same_readings():
    begin = datetime(2026, 3, 1)
    rows = [
        (begin + timedelta(seconds=10 * i), 9 + i % 7 / 100, round(13 - i / 20_000, 5))
        for i in range(12_000)
    ]
    same(xlsx(HEADINGS, *rows), like=read_file(as_csv(rows=rows)))


def test_formulas_that_nobody_computed_are_told_with_what_to_do():
    """A workbook that a program wrote and no spreadsheet opened holds no results."""
    rows = [(moment, f"=C{i}*0.7", volts) for i, (moment, _, volts) in enumerate(ROWS, start=2)]
    with pytest.raises(InvalidInput, match=r"“Current \(A\)” is empty in 36 of 36 rows.*save it"):
        read_file(xlsx(HEADINGS, *rows))
    rows = [(f"=A{i - 1}+1/144" if i > 2 else row[0], *row[1:]) for i, row in enumerate(ROWS, 2)]
    with pytest.raises(InvalidInput, match=r"“Time” is empty in 35 of 36 rows.*save it"):
        read_file(xlsx(HEADINGS, *rows))
