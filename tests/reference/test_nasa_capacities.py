"""NASA's published capacities (source: SOURCES.md beside this file), through the file reader."""

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from app.cli.commands import app

HERE = Path(__file__).parent / "nasa"
with (HERE / "published_capacity.csv").open() as file:
    PUBLISHED = {row["file"]: float(row["capacity_ah"]) for row in csv.DictReader(file)}


def test_the_table_covers_every_log():
    assert {path.name for path in HERE.glob("B*.csv")} == set(PUBLISHED)
    assert len(PUBLISHED) == 24


def test_analyse_agrees_with_every_published_capacity_within_a_ten_thousandth():
    files = [str(HERE / name) for name in PUBLISHED]
    done = CliRunner().invoke(app, ["analyse", "--cut-off-v", "2.7", "--json", *files])
    assert done.exit_code == 0, done.output
    for record in json.loads(done.stdout):
        published = PUBLISHED[Path(record["file"]).name]
        assert record["delivered_ah"] == pytest.approx(published, abs=1e-4)
        assert record["kind"] == "measured"
        assert record["mean_current_a"] == pytest.approx(2.01, abs=0.01)


def test_without_a_cut_off_nothing_shows_that_the_cell_was_empty():
    done = CliRunner().invoke(app, ["analyse", "--json", str(HERE / "B0005_discharge_001.csv")])
    assert json.loads(done.stdout)[0]["kind"] == "at_least"
