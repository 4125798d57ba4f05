"""The lines of a running test's page, run as they stand against a real server."""

import json
import shlex
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
import pytest
from typer.testing import CliRunner

import app
from app.cli.commands import app as commands
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.server.application import create_app
from app.services.entities import batteries, runs
from app.settings import Settings
from tests.builders import battery_details
from tests.live_server import server_in_thread
from tests.web.conftest import soup

README = Path(app.__file__).parents[1] / "README.md"


@pytest.fixture
def page_of_run(tmp_path):
    """The address of a running test, served on this machine."""
    store = create_app(Settings(data_dir=tmp_path / "data")).state.store
    start = datetime.now(UTC) - timedelta(hours=3)
    battery = batteries.add_battery(store, battery_details())
    details = RunDetails(start, 0, ChargeCondition.FULL_RESTED, 0)
    made = runs.start_run(store, battery.id, details, MeterKind.SHUNT, start)
    store.engine.dispose()
    with server_in_thread(tmp_path) as address:
        yield f"{address}/runs/{made.id}"


def lines_of(page_of_run):
    """The line for curl and the one for a pipe."""
    answer = httpx2.post(f"{page_of_run}/feed")
    return [one.text for one in soup(answer).select(".typed pre[aria-label^=Line] code")]


def readings_of(page_of_run):
    return httpx2.get(page_of_run.replace("/runs/", "/api/runs/") + "/state").json()["readings"]


def test_the_line_for_curl_says_a_request_that_works(page_of_run):
    command, *words = shlex.split(lines_of(page_of_run)[0])
    address = words.pop()
    given = list(zip(words[::2], words[1::2], strict=True))
    headers = dict(value.split(": ", 1) for option, value in given if option == "-H")
    (body,) = (value for option, value in given if option == "-d")
    assert command == "curl"
    assert address.startswith(page_of_run.partition("/runs/")[0])
    assert json.loads(body)["readings"][0]["current_a"] > 0, "discharging is positive"
    for answered in ({"stored": 1, "known": 0}, {"stored": 0, "known": 1}):
        answer = httpx2.post(address, content=body, headers=headers)
        assert answer.json() == answered, answer.text
    assert readings_of(page_of_run) == 1


@pytest.mark.skipif(not shutil.which("curl"), reason="curl is not installed")
def test_the_line_works_as_it_stands_in_a_shell(page_of_run):
    line = lines_of(page_of_run)[0]
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, timeout=60)
    assert json.loads(done.stdout) == {"stored": 1, "known": 0}, done.stderr


def test_the_line_takes_the_current_of_the_last_reading(page_of_run):
    httpx2.post(f"{page_of_run}/readings", data={"current_a": "4.5"})
    assert '\\"current_a\\": 4.5' in lines_of(page_of_run)[0]


def test_the_line_for_a_pipe_works_as_it_stands(page_of_run):
    program, _, line = lines_of(page_of_run)[1].partition(" | ")
    command, *words = shlex.split(line)
    now = datetime.now(UTC)
    text = "".join(
        f"{(now - timedelta(minutes=minutes)).isoformat()},9.0,13.1\n" for minutes in (90, 60, 30)
    )
    done = CliRunner().invoke(commands, words, input=text)
    assert (program, command) == ("program", "fadeline")
    assert done.exit_code == 0, done.output
    assert readings_of(page_of_run) == 3


@pytest.mark.skipif(not shutil.which("curl"), reason="curl is not installed")
def test_the_line_of_the_readme_works_in_a_shell(page_of_run):
    word = shlex.split(lines_of(page_of_run)[1])[-1]
    line = next(one for one in README.read_text().splitlines() if one.startswith("curl -H"))
    own = page_of_run.partition("/runs/")[0]
    line = line.replace("WORD", word).replace("http://127.0.0.1:8765", own)
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, timeout=60)
    assert json.loads(done.stdout) == {"stored": 1, "known": 0}, done.stderr


def test_without_its_word_the_page_shows_no_line(page_of_run):
    assert not soup(httpx2.get(page_of_run)).select(".typed")
