"""What the server logs: a line a request, and no secret."""

import logging
import os
import re
import sys

import httpx2
import pytest
from sqlalchemy import text

from app.domain.errors import StorageError
from app.server.log_setup import LogLevel, set_up_logs
from app.storage.database.engine import make_engine, read_session
from app.web.security.access_log import loggable
from tests.live_server import served

pytestmark = [pytest.mark.usefixtures("logs"), pytest.mark.any_database]


def test_every_request_has_one_line_with_no_secret_in_it(tmp_path):
    with served(tmp_path) as (server, port, log):
        address = f"http://127.0.0.1:{port}"
        httpx2.get(f"{address}/batteries/new?name=SECRETQUERY")
        httpx2.get(f"{address}/shared/SECRETTOKEN-of-a-link")
        httpx2.get(f"{address}/api/shared/SECRETTOKEN/?chart=x")
        httpx2.post(f"{address}/sign-in", data={"passphrase": "SECRETPASS"})
        bearer = {"Authorization": "Bearer SECRETWORD"}
        httpx2.post(f"{address}/api/runs/1/readings", json={"readings": []}, headers=bearer)
        httpx2.get(f"{address}/x%0AFORGED%20GET%20/%20200")
        server.terminate()
        server.wait(30)
        lines = log.read_text().splitlines()
    stamp = r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ INFO"
    asked = [one for one in lines if re.search(r" (GET|POST) /", one) and "/health" not in one]
    said = [re.sub(rf"^{stamp} (.*) \d+ ms$", r"\1", one) for one in asked]
    assert said == [
        "GET /batteries/new 200",
        "GET /shared/SECR… 404",
        "GET /api/shared/SECR…/ 404",
        "POST /sign-in 422",
        "POST /api/runs/1/readings 422",
        "GET /x%0AFORGED%20GET%20/%20200 404",
    ]
    for secret in ("SECRETQUERY", "SECRETTOKEN", "SECRETPASS", "SECRETWORD"):
        assert secret not in "\n".join(lines)


def test_a_quieter_log_holds_no_line_a_request(capsys):
    set_up_logs(LogLevel.WARNING)
    logging.getLogger("fadeline.requests").info("GET / 200")
    logging.getLogger("fadeline").warning("trouble")
    logging.getLogger("multipart").debug("what was sent")
    assert re.fullmatch(r"\S+Z WARNING trouble\n", capsys.readouterr().err)


def test_what_libraries_say_of_their_work_stays_out_at_every_level(capsys):
    set_up_logs(LogLevel.DEBUG)
    for name in ("multipart.multipart", "sqlalchemy.engine", "asyncio", "httpx"):
        logging.getLogger(name).info("what was sent")
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("/shared/abcdefgh", "/shared/abcd…"),
        ("/shared/ab", "/shared/ab…"),
        ("/example/shared/abcdefgh", "/example/shared/abcd…"),
        ("/a\r\nb", "/a%0D%0Ab"),
        ("/\x1b[31m", "/%1B%5B31m"),
        ("/ü", "/%C3%BC"),
        ("/" + "x" * 1000, "/" + "x" * 299),
    ],
)
def test_a_path_in_the_log_is_one_line_without_a_secret(path, shown):
    assert loggable(path) == shown


def test_in_the_journal_each_line_has_its_priority(capfd, monkeypatch):
    about = os.fstat(sys.stderr.fileno())
    monkeypatch.setenv("JOURNAL_STREAM", f"{about.st_dev}:{about.st_ino}")
    set_up_logs(LogLevel.INFO)
    logging.getLogger("fadeline.requests").info("GET / 200")
    logging.getLogger("fadeline").warning("trouble")
    logging.getLogger("fadeline").error("two\nlines")
    monkeypatch.setenv("JOURNAL_STREAM", "1:1")
    set_up_logs(LogLevel.INFO)
    logging.getLogger("fadeline").warning("elsewhere")
    lines = capfd.readouterr().err.splitlines()
    assert [line[:3] for line in lines[:4]] == ["<6>", "<4>", "<3>", "<3>"]
    assert re.fullmatch(r"\d{4}-\S+Z WARNING elsewhere", lines[4])


def test_trouble_with_the_records_is_logged_when_it_begins_and_when_it_ends(tmp_path, caplog):
    caplog.set_level(logging.INFO, "fadeline.records")
    engine = make_engine(tmp_path / "no.db")
    (tmp_path / "no.db").write_bytes(b"no data file" * 100)
    for _ in range(2):
        with pytest.raises(StorageError), read_session(engine) as session:
            session.execute(text("SELECT 1 FROM sqlite_master"))
    (tmp_path / "no.db").unlink()
    engine.dispose()
    for _ in range(2):
        with read_session(engine) as session:
            session.execute(text("SELECT 1"))
    engine.dispose()
    (began, ended) = caplog.records
    assert (began.levelname, ended.levelname) == ("WARNING", "INFO")
    assert "cannot be read: The data file is no Fadeline data file" in began.getMessage()
    assert str(tmp_path) in began.getMessage()
    assert ended.getMessage().endswith("can be read again")
