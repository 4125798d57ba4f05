"""A line about a long job, on a clock that the test sets."""

import io

import pytest
from typer.testing import CliRunner

from app.cli.commands import app
from app.cli.progress_line import ProgressLine
from app.services.exchange import records_archive
from tests.archives import empty_store, exported, fill


class Terminal(io.StringIO):
    def isatty(self):
        return True


class Clock:
    now_s = 0.0

    def __call__(self):
        return self.now_s


def told(out, moments):
    clock = Clock()
    with ProgressLine(out, clock) as tell:
        for done, clock.now_s in enumerate(moments, start=1):
            tell("capacity tests written", done)
    return out.getvalue()


def test_a_terminal_shows_one_line_that_is_gone_at_the_end():
    said = told(Terminal(), [0.1, 0.25, 0.3, 0.5])
    assert said.split("\r\x1b[K") == [
        "",
        "capacity tests written: 2",
        "capacity tests written: 4",
        "",
    ]


def test_a_log_gets_a_line_every_half_minute_and_no_marks():
    said = told(io.StringIO(), [1, 29.9, 30, 59, 60.5])
    assert said == "capacity tests written: 3\ncapacity tests written: 5\n"


@pytest.mark.parametrize("out", [Terminal(), io.StringIO()])
def test_a_short_job_says_nothing(out):
    assert told(out, [0.0, 0.1]) == ""


def test_every_test_is_told_of_on_its_way_out_and_in(store, tmp_path):
    fill(store)
    steps = []
    records_archive.export_records(
        store, tmp_path / "a.zip", progress=lambda what, done: steps.append((what, done))
    )
    assert steps == [("capacity tests written", 1)]
    other, steps[:] = empty_store(tmp_path / "other"), []
    records_archive.restore_records(
        other, tmp_path / "a.zip", progress=lambda what, done: steps.append((what, done))
    )
    assert steps == [("capacity tests read", 1), ("capacity tests checked", 1)]
    other.engine.dispose()


@pytest.mark.data_file
def test_what_scripts_read_has_no_progress_in_it(tmp_path, monkeypatch):
    """Even where every step speaks."""
    monkeypatch.setattr("app.cli.progress_line.IN_LOG_S", 0.0)
    store = empty_store(tmp_path / "home")
    fill(store)
    exported(store, tmp_path / "a.zip")
    store.engine.dispose()

    def run(*arguments):
        done = CliRunner().invoke(app, list(map(str, arguments)))
        assert done.exit_code == 0, done.output
        return done

    out = run("export", "--data", tmp_path / "home", "--to", tmp_path / "b.zip")
    assert out.stdout.startswith(str(tmp_path / "b.zip"))
    assert out.stdout.count("\n") == 1
    assert out.stderr == (
        f"Records: {tmp_path / 'home' / 'fadeline.db'}\ncapacity tests written: 1\n"
    )
    back = run("restore", tmp_path / "b.zip", "--data", tmp_path / "back")
    assert back.stderr == (
        f"Records: {tmp_path / 'back' / 'fadeline.db'}\n"
        "capacity tests read: 1\ncapacity tests checked: 1\n"
    )
    assert "capacity tests read" not in back.stdout
