"""Damaged and made-up files against the readers: everything is read or refused.

The readers of logs, of temperatures, of past tests, of typed rows and of the lines of a feed.

Run by hand: python -m tests.tools.fuzz_reader [seconds]
Coverage leads the search (atheris); it begins with the small files of the tests of the readers and
keeps what it finds in a temporary folder. Its last lines say how many files were tried; one that
made a fault stands there as Base64.
"""

import sys
import tempfile
import warnings
from datetime import UTC, date, datetime
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["app.ingest", "app.domain"]):
    from app.domain.errors import FadelineError
    from app.domain.past_tests.answers import Answers
    from app.domain.past_tests.columns import PastColumn
    from app.domain.temperature_file import TemperatureColumns, TemperatureUnit
    from app.domain.units.column import ColumnUse, DayOrder
    from app.ingest.column_inference import guess_uses
    from app.ingest.feed_line import FeedLines
    from app.ingest.past_tests.reader import read_past_tests
    from app.ingest.past_tests.table import open_past_tests
    from app.ingest.reader import open_file, read_each, read_opened
    from app.ingest.temperatures.temperature_reader import (
        column_question,
        open_temperatures,
        read_temperatures,
    )
    from app.ingest.typed import read_typed

COLUMNS = TemperatureColumns(unit=TemperatureUnit.CELSIUS)
SEEDS = (
    b"time_s,current_a,voltage_v\n0,9,13.2\n60,9,13.1\n120,9,12.9\n",
    b"Zeit;A;V\r\n01.03.2026 22:00:00;9,1;13,2\r\n01.03.2026 22:01:00;9,0;13,1\r\n",
    b"# made by a box\n\ntime\tCurrent (mA)\tBattery voltage\n0:00\t850\t13.2\n0:10\t851\t13.1\n",
    "Datum,Temperatur °C\n2026-01-01 00:00,12.5\n2026-01-01 01:00,-3\n".encode(),
    "time,A,V\n\ufeff2026-03-01T22:00:00Z,\u22129,13.2\n".encode("utf-16"),
    b'"a ""quoted"" name","x"\n1,2\n3\n,,,\n',
    b"date,Ah,end,charge,V\n14.03.2022,99.1,bms,full,12.9\n03/2023,>95,?,,\n1.5.23,1.2 kWh,,,\n",
    b"March 2022: 99.1 Ah, cut off\nJune 2023: about 97 Ah, stopped early\n",
    b"time\tA\tV\tdegF\n1h30\t850 mA\t13,2 V\t95 F\n14:30\t9\t13.1\t71\n",
    b"2026-03-29T01:59:00+01:00,9,13.2\n2026-03-29T03:01:00+02:00,9.1,13.1\n",
)
TODAY, NOW = date(2026, 6, 1), datetime(2026, 6, 1, 12, tzinfo=UTC)


def read(data: bytes) -> None:
    try:
        opened = open_file(data)
        uses = tuple(ColumnUse)
        read_opened(opened)
        read_opened(
            opened, tuple(uses[byte % len(uses)] for byte in data[: len(opened.table.header)])
        )
        read_each(opened)
    except FadelineError:
        pass
    try:
        logged = open_temperatures(data)
        if not column_question(logged, COLUMNS):
            read_temperatures(logged, COLUMNS)
    except FadelineError:
        pass
    read_other(data)


def read_other(data: bytes) -> None:
    """Past tests, once as they stand and once with every answer given; typed rows; a feed."""
    try:
        past = open_past_tests(data)
        read_past_tests(past, Answers(), TODAY, 100.0)
        columns = tuple(PastColumn)
        uses = tuple(columns[byte % len(columns)] for byte in data[: len(past.header)])
        answers = Answers(uses, DayOrder.DAY_FIRST, "middle", "once", "decimals", None, 12.8)
        read_past_tests(past, answers, TODAY, None)
    except FadelineError:
        pass
    text = data.decode(errors="replace")
    try:
        rows = [line.split("\t") for line in text.splitlines()]
        read_typed(rows, fahrenheit=len(data) % 2 == 0)
    except FadelineError:
        pass
    lines = text.splitlines(keepends=True)
    try:
        feed = FeedLines(guess_uses)
        feed.readings(lines[:4], NOW)
        feed.readings(lines[4:], NOW)
    except FadelineError:
        pass


def main() -> None:
    # As in the tests: a mean of nothing is a fault, too.
    warnings.simplefilter("error")
    seconds = sys.argv[1] if len(sys.argv) > 1 else "600"
    with tempfile.TemporaryDirectory() as folder:
        for number, seed in enumerate(SEEDS):
            (Path(folder) / str(number)).write_bytes(seed)
        limits = [
            f"-max_total_time={seconds}",
            "-max_len=4096",
            "-timeout=20",
            "-rss_limit_mb=2048",
            "-len_control=10",
        ]
        limits += ["-print_final_stats=1"]
        atheris.Setup([sys.argv[0], folder, *limits, f"-artifact_prefix={folder}/"], read)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
