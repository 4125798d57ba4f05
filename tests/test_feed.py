"""The feed command against a real server."""

import io
import os
import threading
import time
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from typer.testing import CliRunner

from app.cli.commands import app
from app.cli.feed import NoAnswer, _send_on, run_feed
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.ingest.column_inference import guess_uses
from app.ingest.feed_line import FeedLines
from app.server.application import create_app
from app.services.entities import batteries, runs
from app.settings import Settings
from tests.builders import battery_details
from tests.live_server import serving

START = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=5)


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """A real server, and the records that it serves."""
    folder = tmp_path_factory.mktemp("fed")
    store = create_app(Settings(data_dir=folder / "data")).state.store
    with serving(folder) as address:
        yield address, store
    store.engine.dispose()


@pytest.fixture
def run(server):
    """A running test of a battery of its own, and the word of its feed."""
    address, store = server
    battery = batteries.add_battery(store, battery_details())
    details = RunDetails(START, 0, ChargeCondition.FULL_RESTED, 0)
    made = runs.start_run(store, battery.id, details, MeterKind.SHUNT, START)
    return f"{address}/runs/{made.id}", runs.open_feed(store, made.id)


def counted(run):
    return httpx2.get(run.replace("/runs/", "/api/runs/")).json()["counted_ah"]


def line(hour):
    return f"{(START + timedelta(hours=hour)).isoformat()},9.0,13.1\n"


def test_a_log_is_sent_and_sending_it_again_changes_nothing(run, tmp_path):
    address, word = run
    log = tmp_path / "log.csv"
    log.write_text("time,current_a,voltage_v\n" + "".join(line(h) for h in range(4)))
    for stored in (4, 0):
        done = CliRunner().invoke(app, ["feed", address, str(log), "--word", word])
        assert done.exit_code == 0, done.output
        assert f"{stored} readings stored" in done.stdout
    assert counted(address) == pytest.approx(27)


def test_standard_input_is_read(run):
    address, word = run
    text = "time,current_a\n" + "".join(line(h)[:-6] + "\n" for h in range(3))
    done = CliRunner().invoke(app, ["feed", address, "-", "--word", word], input=text)
    assert "3 readings stored" in done.stdout


@pytest.mark.parametrize(
    ("text", "word", "said"),
    [
        ("time,current_a,voltage_v\n" + line(0), "wrong", "does not open it"),
        ("time,current_a\n10:00,9\n11:00,9\n", "", "a time with its date"),
        ("nothing here\n", "", "lines with a time and a current"),
    ],
    ids=["a wrong word", "times without dates", "no table"],
)
def test_what_cannot_be_sent_is_one_sentence(run, tmp_path, text, word, said):
    address, good = run
    log = tmp_path / "log.csv"
    log.write_text(text)
    done = CliRunner().invoke(app, ["feed", address, str(log), "--word", word or good])
    assert done.exit_code == 1
    assert said in done.stderr
    assert counted(address) == 0


def test_no_server_is_one_sentence():
    done = CliRunner().invoke(
        app, ["feed", "http://127.0.0.1:9/runs/1", "-", "--word", "x"], input="time,A,V\n" + line(0)
    )
    assert done.exit_code == 1
    assert "No answer from" in done.stderr


def test_a_growing_file_is_followed(run, tmp_path, monkeypatch):
    address, word = run
    log = tmp_path / "log.csv"
    log.write_text("time,current_a,voltage_v\n" + line(0))
    monkeypatch.setattr("app.cli.feed.WAIT_S", 0.05)
    command = ["feed", address, str(log), "--word", word, "--follow"]
    follower = threading.Thread(target=lambda: CliRunner().invoke(app, command), daemon=True)
    follower.start()
    time.sleep(0.5)
    with log.open("a") as growing:
        half = line(1)
        growing.write(half[:10])
        growing.flush()
        time.sleep(0.2)
        growing.write(half[10:])
    for _ in range(100):
        if counted(address) == pytest.approx(9):
            break
        time.sleep(0.05)
    assert counted(address) == pytest.approx(9)


def test_a_device_that_writes_a_line_an_hour_is_heard_at_once(monkeypatch):
    """A pipe stays open between two lines; what is in it must not wait for more."""
    monkeypatch.setattr("app.cli.feed.WAIT_S", 0.05)
    sent: list[int] = []
    monkeypatch.setattr("app.cli.feed._send", lambda *given: sent.append(len(given[2])) or 1)
    read_end, write_end = os.pipe()
    with os.fdopen(read_end) as source, os.fdopen(write_end, "w") as device:
        feeding = threading.Thread(
            target=run_feed, args=("http://x", "w", source), kwargs={"follow": False}
        )
        feeding.start()
        device.write("time,A,V\n" + line(0))
        device.flush()
        for _ in range(100):
            if sent:
                break
            time.sleep(0.05)
        assert sent == [1]
        device.close()
        feeding.join(5)


def test_a_server_that_is_away_for_a_moment_is_waited_for(monkeypatch):
    monkeypatch.setattr("app.cli.feed.WAIT_S", 0.01)
    answers = iter([NoAnswer("away"), NoAnswer("away"), 1])

    def answer(*_):
        one = next(answers)
        if isinstance(one, Exception):
            raise one
        return one

    monkeypatch.setattr("app.cli.feed._send", answer)
    assert _send_on("http://x", "w", [{}], follow=True) == 1


@pytest.mark.parametrize("address", ["http://127.0.0.1/a b", "http://[::1", "http://x:port/"])
def test_an_address_that_is_none_is_one_sentence(address):
    done = CliRunner().invoke(app, ["feed", address, "-", "--word", "x"], input="A,V\n9,13\n9,13\n")
    assert done.exit_code in (1, 2)
    assert "address" in done.stderr


def test_a_reading_that_is_refused_is_named_and_the_rest_goes_on(run, tmp_path):
    address, word = run
    log = tmp_path / "log.csv"
    late = f"{(START + timedelta(days=3)).isoformat()},9.0,13.1\n"
    rows = [line(0), line(1), line(2).replace("13.1", "99999"), line(3), late, line(4)]
    log.write_text("time,current_a,voltage_v\n" + "".join(rows))
    done = CliRunner().invoke(app, ["feed", address, str(log), "--word", word])
    assert done.exit_code == 1
    assert "4 readings stored, 2 refused" in done.stdout
    assert done.stderr.count("Not taken") == 2
    assert "99999" in done.stderr
    assert "time of the reading" in done.stderr
    assert counted(address) == pytest.approx(36)


def test_a_log_that_has_only_its_heading_yet_is_waited_for(monkeypatch):
    sent = []
    batches = [["time,current_a\n"], [f"{START.isoformat()},9.0\n"]]
    monkeypatch.setattr("app.cli.feed._batches", lambda *_: iter(batches))
    monkeypatch.setattr("app.cli.feed._send", lambda *given: sent.extend(given[2]) or len(given[2]))
    fed = run_feed("http://x", "w", io.StringIO(), follow=True)
    assert (fed.stored, fed.refused) == (1, 0)
    assert sent[0]["current_a"] == 9.0


def test_an_hour_that_comes_twice_is_two_hours(zone):
    zone("Europe/Berlin")
    lines = FeedLines(guess_uses)
    begin = datetime(2026, 10, 24, 22, 30, tzinfo=UTC)
    moments = [begin + timedelta(minutes=30 * i) for i in range(8)]
    rows = [f"{one.astimezone():%Y-%m-%d %H:%M:%S},9.0\n" for one in moments]
    read = lines.readings(["time,current_a\n", *rows], moments[-1])
    assert [datetime.fromisoformat(one["at"]) for one in read] == moments


def test_a_line_without_a_value_is_named_and_the_rest_goes_on(run):
    address, word = run
    rows = [line(h) for h in range(6)]
    rows[1] = rows[1].replace("9.0", "")
    rows[2] = rows[2].replace("9.0", "OFF")
    rows[3] = rows[3].replace("13.1", "err")
    rows[4] = ",9.0,13.1\n"
    rows.insert(5, "time,current_a,voltage_v\n")
    text = "time,current_a,voltage_v\n" + "".join(rows)
    done = CliRunner().invoke(app, ["feed", address, "-", "--word", word], input=text)
    assert done.exit_code == 0, done.output
    assert "3 readings stored, 4 lines without a value" in done.stdout
    assert done.stderr.splitlines() == [
        "No value: line 3, current: no value; line not sent",
        "No value: line 4, current: “OFF” is no value; line not sent",
        "No value: line 5, voltage: “err” is no value; sent without it",
        "No value: line 6, time: no value; line not sent",
        "No value: line 7, current: “current_a” is no value; line not sent",
    ]


def test_a_cell_that_nobody_measured_is_no_fault():
    lines = FeedLines(guess_uses)
    rows = [line(0), line(1).replace("13.1", ""), line(2)]
    read = lines.readings(["time,current_a,voltage_v\n", *rows], START)
    assert [one.get("voltage_v") for one in read] == [13.1, None, 13.1]
    assert (lines.lacking, lines.passed_over) == ([], 0)


def test_lines_are_counted_from_the_first_of_the_log():
    lines = FeedLines(guess_uses)
    lines.readings(["device 7\n", "time,current_a,voltage_v\n", line(0), line(1)], START)
    lines.readings([line(2), "\n", line(3).replace("9.0", "")], START)
    assert lines.lacking == ["line 7, current: no value; line not sent"]
    lines.readings([line(4), line(5).replace("9.0", "-")], START)
    assert lines.lacking == ["line 9, current: “-” is no value; line not sent"]


@pytest.mark.parametrize("head", ["time,current_a,voltage_v\n", ""])
def test_a_device_that_falters_does_not_end_the_feed(head):
    """Followed, each line is a bunch of its own."""
    lines = FeedLines(guess_uses)
    lines.readings([head, line(0), line(1)], START)
    faulty = [
        line(2)[:20] + "\n",
        line(2)[:9] + "\n",
        "\x00\x7f~\n",
        "2026-05-02T10:0x:00Z,9.0,13.1\n",
        line(2).rstrip("\n") + line(3),
        ",,\n",
        "9.0\n",
    ]
    for one in faulty:
        assert lines.readings([one], START) == [], one
        assert lines.passed_over == (one != ",,\n"), one
        assert bool(lines.lacking) == bool(lines.passed_over), one
    (read,) = lines.readings([line(4)], START)
    assert (read["current_a"], read["voltage_v"]) == (9.0, 13.1)


def test_every_bunch_is_parted_like_the_first():
    """Alone, the second bunch would look like a log with commas between its columns."""
    lines = FeedLines(guess_uses)
    lines.readings(["Zeit;A;V\n", *(f"2026-05-02T08:0{i}:00Z;9,5;13,2\n" for i in range(3))], START)
    (read,) = lines.readings(["2026-05-02T08:03:00Z;9,25;\n"], START)
    assert read["current_a"] == 9.25
    assert "voltage_v" not in read
