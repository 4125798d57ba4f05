import json
import re
import socket

import pytest
from typer.testing import CliRunner

from app.cli.commands import app

LOG = "time_h,current_a,voltage_v\n" + "".join(f"{h},9,{13.2 - h / 10}\n" for h in range(11))
HISTORY = "battery,date,capacity_ah,standard_uncertainty_ah,kind\n" + "".join(
    f"van,{2020 + i // 4}-{1 + 3 * (i % 4):02d}-01,{100 - 0.9 * i + 0.3 * (-1) ** i},0.5,\n"
    for i in range(16)
)


@pytest.fixture
def run(tmp_path):
    def invoke(*arguments, **files):
        for name, text in files.items():
            (tmp_path / f"{name}.csv").write_text(text)
        named = [str(tmp_path / a) if str(a).endswith(".csv") else str(a) for a in arguments]
        return CliRunner().invoke(app, named)

    return invoke


def test_analyse_prints_one_record_a_file(run):
    done = run("analyse", "--json", "--rated-ah", "100", "log.csv", log=LOG)
    assert done.exit_code == 0
    (record,) = json.loads(done.stdout)
    assert record["delivered_ah"] == pytest.approx(90)
    assert record["duration_s"] == 36000
    assert record["mean_current_a"] == pytest.approx(9)
    assert record["kind"] == "at_least"
    assert record["delivered_wh"] > 1000
    assert record["reasons"]
    # A lower bound promises what was counted less what it may be wrong by.
    assert record["share_of_rated"] == pytest.approx(0.9 - record["expanded_uncertainty_ah"] / 100)


def test_analyse_in_words_carries_its_interval(run):
    done = run("analyse", "log.csv", log=LOG)
    said = re.search(r"at least (\S+) Ah \(90 Ah counted ± (\S+) Ah, very likely\)", done.stdout)
    assert said
    # Once is enough: the first line ended with it, too.
    assert done.stdout.splitlines()[0].count("at least") == 1
    # What may be wrong with the count is taken off, and the rest is not rounded up.
    assert float(said[1]) <= 90 - float(said[2]) + 0.05


def test_one_bad_file_does_not_stop_the_others(run):
    done = run("analyse", "--json", "bad.csv", "log.csv", "gone.csv", bad="nothing", log=LOG)
    assert done.exit_code == 1
    assert len(json.loads(done.stdout)) == 1
    assert "bad.csv: No table of readings found" in done.stderr
    assert "gone.csv" in done.stderr


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["analyse"], 2),
        (["analyse", "--rated-ah", "x", "log.csv"], 2),
        (["analyse", "--rated-ah", "-5", "log.csv"], 2),
        (["analyse", "--cut-off-v", "0", "log.csv"], 2),
        (["forecast", "log.csv", "--end-of-life", "1.5"], 2),
        (["forecast", "gone.csv"], 1),
        (["serve", "--port", "99999999"], 2),
        (["nonsense"], 2),
    ],
)
def test_exit_codes_tell_refusal_from_misuse(run, arguments, code):
    done = run(*arguments, log=LOG)
    assert done.exit_code == code
    assert "Traceback" not in done.output


def test_projection_gives_dates_with_an_interval(run):
    done = run("forecast", "--json", "h.csv", h=HISTORY)
    (record,) = json.loads(done.stdout)
    assert record["battery"] == "van"
    assert record["tests"] == 16
    rate = record["rate_percent_per_year"]
    assert rate["low"] < rate["estimate"] < rate["high"]
    assert rate["estimate"] == pytest.approx(3.6, abs=0.1)
    end = record["end_of_life"]
    assert end["p05"] < end["p50"] < end["p95"]
    assert end["p50"].startswith("2025")


def test_projection_follows_the_threshold(run):
    early = json.loads(run("forecast", "--json", "--end-of-life", "0.9", "h.csv", h=HISTORY).stdout)
    late = json.loads(run("forecast", "--json", "--end-of-life", "0.7", "h.csv", h=HISTORY).stdout)
    assert early[0]["end_of_life"]["p50"] < late[0]["end_of_life"]["p50"]


def test_projection_of_lower_bounds_alone_gives_no_date(run):
    rows = "battery,date,capacity_ah,kind\nb,2024-01-01,80,at_least\nb,2025-01-01,80,at_least\n"
    (record,) = json.loads(run("forecast", "--json", "b.csv", b=rows).stdout)
    assert record["rate_percent_per_year"]["estimate"] is None
    assert set(record["end_of_life"].values()) >= {None, "not_yet_known"}


@pytest.mark.parametrize(
    "rows",
    [
        "a,2024-01-01,100\n",
        "a,2024-01-01,100\na,2024-01-01,90\n",
        "a,2025-01-01,100\na,2024-01-01,99\na,2023-01-01,98\n",
        "a,2023-01-01,100\na,2024-01-01,101\na,2025-01-01,102\n",
        "a,2023-01-01,100\na,2024-01-01,100\na,2025-01-01,100\n",
        "a,2023-01-01,100\na,2024-01-01,0.001\na,2025-01-01,99\n",
    ],
)
def test_odd_histories_have_a_clear_outcome(run, rows):
    done = run("forecast", "--json", "o.csv", o="battery,date,capacity_ah\n" + rows)
    assert done.exit_code == 0, done.output
    (record,) = json.loads(done.stdout)
    assert record["end_of_life"]["outcome"]
    assert run("forecast", "o.csv").stdout.startswith("a: ")


def test_a_port_in_use_is_one_sentence(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = CliRunner().invoke(
            app, ["serve", "--no-browser", "--port", str(port), "--data", str(tmp_path)]
        )
    assert done.exit_code == 1
    assert f"Port {port}" in done.stderr
    assert "Fadeline runs there already" in done.stderr
    assert "--port" in done.stderr
