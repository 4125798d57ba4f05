"""Past tests on the command line: what rows become, what is refused, nothing half stored."""

import re

import pytest
from typer.testing import CliRunner

from app.cli.commands import app as commands
from app.services.entities import batteries
from tests.builders import NOW, battery_details
from tests.ingest import workbooks

TABLE = "date;Ah;ended\n14.3.2023;99,1;BMS\n31.3.2024;96,4;BMS\n;95,0;\n"
GOOD = TABLE.replace(";95,0;\n", "")
FULL = ("--charge", "full-rested", "--meter", "shunt")


@pytest.fixture
def run(tmp_path, store, app):
    batteries.add_battery(store, battery_details(name="House"))

    def invoke(content, *arguments, battery="House", name="tests.csv"):
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        folder = app.state.settings.data_dir
        named = ["import", str(file), "--battery", battery, "--data", str(folder), *arguments]
        return CliRunner().invoke(commands, named)

    return invoke


def count(store):
    return len(batteries.show_battery(store, 1, NOW.date()).report.tests)


def test_a_dry_run_says_what_rows_become_and_stores_nothing(run, store):
    done = run(GOOD, *FULL, "--dry-run")
    assert done.exit_code == 0, done.output
    assert "line 2: 2023-03-14: Measured 99.1 Ah ±" in done.stdout
    assert "2 tests would be stored. Nothing was changed." in done.stdout
    assert count(store) == 0
    stored = run(GOOD, *FULL)
    assert stored.exit_code == 0, stored.output
    assert "2 tests of “House” are stored" in stored.stdout
    assert count(store) == 2


@pytest.mark.parametrize(
    ("content", "arguments", "said"),
    [
        (TABLE, FULL, "Please check “line 4, day of the test”: “95,0” does not fit"),
        (GOOD, (), "Please fill in “--charge”: an answer for the rows that do not say it"),
        (
            GOOD,
            ("--charge", "full", "--meter", "abacus"),
            "Please check “--meter”: “abacus” does not fit. It needs one of",
        ),
        ("date,Ah,end\n3/4/2024,99,BMS\n", FULL, "Answer with --day-order: day-first, month-first"),
        ("date,Ah,end\n2024-03-04,99,beeper\n", FULL, "Answer with --word: protection"),
        ("date,a Ah,b Ah\n2024-03-04,99,9\n2025-03-04,98,8\n", FULL, 'capacity_ah="a Ah"'),
        ("date,Wh,end\n2024-03-04,1200,BMS\n", FULL, "Answer with --mean-voltage"),
        ("date,Ah,end\nMarch 2024,99,BMS\n", FULL, "--mid-month"),
        ("date,Ah,end\n2024-03-04,99,BMS\n2024-03-04,99,BMS\n", FULL, "--twice: keep, once"),
        ("date\tAh\tend\n2024-03-04\t95,2\tBMS\n2025-03-04\t1.234\tBMS\n", FULL, "--points"),
        ("date,Ah,end\n2024-03-04,990,BMS\n", FULL, "Line 2: The test comes to 990 Ah"),
        ("date,Ah,end\n2024-03-04,99,BMS\n", (*FULL, "--column", "end=Nope"), "headings: date, Ah"),
    ],
)
def test_what_is_open_or_wrong_is_said_with_its_row_and_its_option(
    run, store, content, arguments, said
):
    done = run(content, *arguments)
    assert done.exit_code == 1
    assert said in done.stderr
    assert count(store) == 0


@pytest.mark.parametrize(
    ("content", "arguments"),
    [
        ("date,Ah,end\n3/4/2024,99,BMS\n", ("--day-order", "month-first")),
        ("date,Ah,end\n2024-03-04,99,beeper\n", ("--word", "beeper=load")),
        ("date,a Ah,b Ah\n2024-03-04,99,9\n", ("--column", "capacity_ah=a Ah", "--ended", "load")),
        ("date,Wh,end\n2024-03-04,1200,BMS\n", ("--mean-voltage", "12.8")),
        ("date,Ah,end\nMarch 2024,99,BMS\n", ("--mid-month",)),
        ("date,Ah,end\n2024-03-04,99,BMS\n2024-03-04,99,BMS\n", ("--twice", "once")),
        ("date,Ah,end\n2024-03-04,990,BMS\n", ("--meant",)),
        (
            "battery,date,Ah\nx,2024-03-04,99\ny,2024-03-04,88\n",
            ("--channel", "x", "--ended", "load"),
        ),
        ("date,Ah\n2024-03-04,99\n", ("--ended", "protection")),
    ],
)
def test_each_question_has_an_option_that_answers_it(run, store, content, arguments):
    # A single test of years ago is asked about, too.
    done = run(content, *FULL, "--meant", *arguments)
    assert done.exit_code == 0, done.output
    assert count(store) == 1


@pytest.mark.parametrize(("points", "proves"), [("decimals", " 1.2 Ah"), ("thousands", "Unusable")])
def test_the_answer_about_points_holds_for_the_column(run, store, points, proves):
    content = "date\tAh\tend\n2024-03-04\t95,2\tBMS\n2025-03-04\t1.234\tBMS\n"
    done = run(content, *FULL, "--meant", "--points", points)
    assert done.exit_code == 0, done.output
    assert re.search(rf"line 3: 2025-03-04: .*{proves}", done.output)
    assert count(store) == 2


def test_a_workbook_with_sheets_and_a_battery_that_is_not_there(run, store):
    def more(book):
        workbooks.fill(book.create_sheet("Old"), (("Date", "Ah"), ("2019-03-04", 105.0)))

    data = workbooks.xlsx(("Date", "Ah"), ("2024-03-04", 99.0), title="New", more=more)
    ended = (*FULL, "--ended", "protection", "--meant")
    asked = run(data, *ended, name="tests.xlsx")
    assert asked.exit_code == 1
    assert "Please fill in “--sheet”: one of the 2 in the file: New, Old" in asked.stderr
    assert run(data, *ended, "--sheet", "New", name="tests.xlsx").exit_code == 0
    gone = run(data, *ended, "--sheet", "New", battery="Boat", name="tests.xlsx")
    assert gone.exit_code == 1
    assert "Please check “--battery”: “Boat” does not fit. It needs one of: House" in gone.stderr
    batteries.add_battery(store, battery_details(name="House"))
    two = run(data, *ended, "--sheet", "Old", name="tests.xlsx")
    assert "--battery 1 or --battery 2" in two.stderr
    assert run(data, *ended, "--sheet", "Old", battery="2", name="t.xlsx").exit_code == 0


def test_wrong_usage_is_said_so(run):
    for wrong in (("--word", "beeper"), ("--column", "day"), ("--mean-voltage", "-3")):
        assert run(GOOD, *FULL, *wrong).exit_code == 2


def test_of_a_table_of_several_batteries_the_one_of_that_name_is_taken(run, store):
    rows = "House;14.3.2025;99,1;BMS\nCamp;14.3.2025;60,0;BMS\nHouse;31.3.2026;96,4;BMS\n"
    clubs = "battery;date;Ah;ended\n" + rows
    done = run(clubs, *FULL)
    assert done.exit_code == 0, done.output
    assert "Only rows of “House” were taken; 1 row of another battery (Camp)" in done.stdout
    assert count(store) == 2
    batteries.add_battery(store, battery_details(name="Boat"))
    asked = run(clubs, *FULL, battery="Boat")
    assert "Answer with --channel: House, Camp" in asked.stderr
