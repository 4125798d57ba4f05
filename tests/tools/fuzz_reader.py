"""Damaged and made-up files against the readers of logs: everything is read or refused.

Run by hand: python -m tests.tools.fuzz_reader [seconds]
Coverage leads the search (atheris); it begins with the small files of the tests of the readers and
keeps what it finds in a temporary folder. Its last lines say how many files were tried; one that
made a fault stands there as Base64.
"""

import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["app.ingest", "app.domain"]):
    from app.domain.errors import FadelineError
    from app.domain.temperature_file import TemperatureColumns, TemperatureUnit
    from app.domain.units.column import ColumnUse
    from app.ingest.reader import open_file, read_opened
    from app.ingest.temperatures.temperature_reader import (
        column_question,
        open_temperatures,
        read_temperatures,
    )

COLUMNS = TemperatureColumns(unit=TemperatureUnit.CELSIUS)
SEEDS = (
    b"time_s,current_a,voltage_v\n0,9,13.2\n60,9,13.1\n120,9,12.9\n",
    b"Zeit;A;V\r\n01.03.2026 22:00:00;9,1;13,2\r\n01.03.2026 22:01:00;9,0;13,1\r\n",
    b"# made by a box\n\ntime\tCurrent (mA)\tBattery voltage\n0:00\t850\t13.2\n0:10\t851\t13.1\n",
    "Datum,Temperatur °C\n2026-01-01 00:00,12.5\n2026-01-01 01:00,-3\n".encode(),
    "time,A,V\n\ufeff2026-03-01T22:00:00Z,\u22129,13.2\n".encode("utf-16"),
    b'"a ""quoted"" name","x"\n1,2\n3\n,,,\n',
)


def read(data: bytes) -> None:
    try:
        opened = open_file(data)
        uses = tuple(ColumnUse)
        read_opened(opened)
        read_opened(
            opened, tuple(uses[byte % len(uses)] for byte in data[: len(opened.table.header)])
        )
    except FadelineError:
        pass
    try:
        logged = open_temperatures(data)
        if not column_question(logged, COLUMNS):
            read_temperatures(logged, COLUMNS)
    except FadelineError:
        pass


def main() -> None:
    seconds = sys.argv[1] if len(sys.argv) > 1 else "600"
    with tempfile.TemporaryDirectory() as folder:
        for number, seed in enumerate(SEEDS):
            (Path(folder) / str(number)).write_bytes(seed)
        limits = [
            f"-max_total_time={seconds}",
            "-max_len=4096",
            "-timeout=20",
            "-rss_limit_mb=2048",
        ]
        limits += ["-print_final_stats=1"]
        atheris.Setup([sys.argv[0], folder, *limits, f"-artifact_prefix={folder}/"], read)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
