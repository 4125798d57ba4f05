"""Data folders with odd names and rights, rows that hold what nothing can read, hostile names."""

import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing

import pytest
from typer.testing import CliRunner

from app.cli.commands import app as commands
from app.server.application import create_app
from app.server.terminal import printable
from app.services.entities import batteries
from app.settings import DATABASE_NAME, Settings
from tests.builders import NOW, battery_details
from tests.conftest import here

pytestmark = pytest.mark.data_file


@pytest.mark.parametrize("name", ["a?b", "My%20Boat", "a#b", "a b", "file:x?mode=ro", "ü&=", "%"])
def test_a_data_folder_may_be_called_anything(tmp_path, name):
    folder = tmp_path / name
    made = create_app(Settings(data_dir=folder))
    batteries.add_battery(made.state.store, battery_details(name="Kept here"))
    made.state.store.engine.dispose()
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as file:
        assert file.execute("SELECT name FROM battery").fetchall() == [("Kept here",)]
    assert [path.name for path in tmp_path.iterdir()] == [name]
    for command in ("backup", "check", "export"):
        more = ["--to", str(tmp_path / "out.zip")] if command == "export" else []
        done = CliRunner().invoke(commands, [command, "--data", str(folder), *more])
        assert done.exit_code == 0, done.output
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([name, "out.zip"])


@pytest.mark.skipif(sys.platform == "win32", reason="paths are text there")
def test_a_folder_whose_path_is_no_text_gets_a_sentence(tmp_path):
    folder = os.fsencode(tmp_path) + b"/caf\xe9"
    made = subprocess.run(
        [sys.executable, "-m", "app", "passphrase", "--end-sessions", "--data", folder],
        capture_output=True,
        timeout=60,
        check=False,
    )
    assert made.returncode == 1
    assert "Please check “data folder”".encode() in made.stderr
    assert b"text in UTF-8" in made.stderr
    assert b"Traceback" not in made.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="there are other rights there")
def test_what_is_made_is_for_its_owner_s_eyes_alone(tmp_path):
    data = tmp_path / "data"
    for command in (["passphrase", "--end-sessions"], ["backup"]):
        told = [sys.executable, "-m", "app", *command, "--data", str(data)]
        subprocess.run(told, check=True, timeout=60, capture_output=True, umask=0o022)
    found = {path.relative_to(tmp_path): path.stat().st_mode for path in tmp_path.rglob("*")}
    assert len(found) >= 5
    for path, mode in found.items():
        assert stat.S_IMODE(mode) == (0o700 if stat.S_ISDIR(mode) else 0o600), path


@pytest.fixture
def spoilt(app, store):
    """A battery whose date of service is none."""
    batteries.add_battery(store, battery_details())
    store.engine.dispose()
    with closing(sqlite3.connect(app.state.settings.database)) as file, file:
        file.execute("UPDATE battery SET in_service_since = 'last spring'")
    return app


def test_a_date_that_is_none_gets_a_sentence_on_a_page(spoilt):
    with here(spoilt) as client:
        for path in ("/", "/batteries/1", "/api/batteries"):
            answer = client.get(path)
            assert answer.status_code == 503, path
            assert "it holds “last spring” where a date belongs" in answer.text
            assert "fadeline check" in answer.text


def test_a_date_that_is_none_gets_a_sentence_on_the_command_line(spoilt, tmp_path):
    data = str(spoilt.state.settings.data_dir)
    done = CliRunner().invoke(commands, ["export", "--data", data, "--to", f"{tmp_path}/all.zip"])
    assert done.exit_code == 1
    assert "it holds “last spring” where a date belongs" in done.stderr
    checked = CliRunner().invoke(commands, ["check", "--data", data])
    assert "in service since is “last spring”" in checked.output


def test_a_moment_that_is_none_gets_a_sentence(app, store):
    batteries.bin_battery(store, batteries.add_battery(store, battery_details()).id, NOW)
    store.engine.dispose()
    with closing(sqlite3.connect(app.state.settings.database)) as file, file:
        file.execute("UPDATE battery SET deleted_at = '2026-13-45 00:00:00'")
    with here(app) as client:
        answer = client.get("/bin")
    assert answer.status_code == 503
    assert "it holds “2026-13-45 00:00:00” where a date belongs" in answer.text


def test_a_name_commands_no_terminal(tmp_path, app, store):
    """Clears the screen, sets its title, rings, and turns the direction of writing."""
    hostile = "\x1b[2J\x1b]0;owned\x07\x9b31m\r\u202egnp.exe"
    batteries.add_battery(store, battery_details(name="Plain"))
    store.engine.dispose()
    with closing(sqlite3.connect(app.state.settings.database)) as file, file:
        file.execute("UPDATE battery SET chemistry = ?", (hostile,))
    data = str(app.state.settings.data_dir)
    done = CliRunner().invoke(commands, ["check", "--data", data])
    assert done.exit_code == 1
    for text in (done.output, done.stderr):
        assert printable(text) == text
    hostile_file = tmp_path / f"{hostile}.csv"
    hostile_file.write_text("nothing")
    named = CliRunner().invoke(commands, ["analyse", str(hostile_file)])
    assert printable(named.stderr) == named.stderr
    assert "\\u001b[2J" in named.stderr


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("12,5 Ah\t±\u202f0,3 — für Ö", "12,5 Ah\t±\u202f0,3 — für Ö"),
        ("\x1b[2J", "\\u001b[2J"),
        ("caf\udce9", "caf\\udce9"),
        ("two\nlines", "two\nlines"),
    ],
)
def test_only_what_commands_is_written_out(text, shown):
    assert printable(text) == shown
