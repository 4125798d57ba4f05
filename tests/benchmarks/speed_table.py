"""How quick everything is, as one table, each figure beside its nearest limit in the same run.

Run by hand on a calm machine: python -m tests.benchmarks.speed_table [part ...]
Parts: start, pages, readings, analysis, growth, browser; all of them take about fifteen minutes.
On PostgreSQL, where the tables of the first start are made before:
bash .ci/with-postgresql .venv/bin/python -m tests.benchmarks.speed_table
pyarrow and statsmodels stand beside where they are installed (pip install -e '.[beside]').
"""

import platform
import sys
from collections.abc import Callable, Iterator

from tests.benchmarks.speed_analysis import analysis_rows
from tests.benchmarks.speed_browser import browser_rows
from tests.benchmarks.speed_growth import growth_rows
from tests.benchmarks.speed_pages import page_rows
from tests.benchmarks.speed_readings import reading_rows
from tests.benchmarks.speed_row import Row
from tests.benchmarks.speed_start import start_rows
from tests.postgres import SERVER, databases, let_folders_stand_for_databases

PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    "start": start_rows,
    "pages": page_rows,
    "readings": reading_rows,
    "analysis": analysis_rows,
    "growth": growth_rows,
    "browser": browser_rows,
}


def main(asked: list[str]) -> None:
    if SERVER:
        let_folders_stand_for_databases()
    where = "PostgreSQL" if SERVER else "a data file"
    print(f"Python {platform.python_version()}, {platform.machine()}, {where}\n")
    print("| what | ours | beside it | ratio | aim |\n|---|---|---|---|---|", flush=True)
    for name in asked or PARTS:
        for row in PARTS[name]():
            print(row, flush=True)
    databases.drop_all()


if __name__ == "__main__":
    main(sys.argv[1:])
