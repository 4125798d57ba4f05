import os
import subprocess
import sys
from pathlib import Path

from app.settings import ROOT


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
