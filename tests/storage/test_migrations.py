import contextlib
import gzip
import os
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import text

from app.domain.share import SharePart
from app.services import batteries, shares
from app.services.store import open_store
from app.settings import MIGRATIONS, ROOT
from app.storage.engine import reading

RELEASED = Path(__file__).parent / "released"


def test_the_migrations_match_the_tables():
    done = subprocess.run(
        [sys.executable, "-m", "alembic", "check"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert "No new upgrade operations detected" in done.stdout, done.stdout + done.stderr


def test_migrations_name_no_library_s_inside():
    for path in Path(ROOT / "migrations" / "versions").glob("*.py"):
        assert "sqlmodel" not in path.read_text()


@pytest.mark.parametrize("old", sorted(RELEASED.glob("*.db.gz")), ids=lambda path: path.name)
def test_a_file_of_every_released_schema_comes_up_with_all_it_held(old, tmp_path):
    database = tmp_path / "fadeline.db"
    database.write_bytes(gzip.decompress(old.read_bytes()))
    before = _counts(database)
    assert before["discharge"] == 27
    store = open_store(tmp_path, database, tmp_path / "staging", MIGRATIONS, 5000)
    after = _counts(database)
    assert {table: after[table] for table in before} == before
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    reports = batteries.list_batteries(store, now.date())
    assert sum(len(report.tests) for report in reports) == 26, "one lies in the bin"
    (share,) = batteries.show_battery(store, 1, now.date()).shares
    assert share.shows == frozenset(SharePart), "an old link shows what it showed"
    assert shares.open_share(store, share.token, now).batteries[0].tests
    with reading(store.engine) as session:
        names = session.exec(text("SELECT uid FROM discharge")).all()
    assert len({name for (name,) in names}) == 27


def _counts(database):
    with contextlib.closing(sqlite3.connect(database)) as file:
        tables = [
            name for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type='table'")
        ]
        return {t: file.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in tables}
