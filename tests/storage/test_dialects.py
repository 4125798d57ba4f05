"""What a database does not need it does not load; what is the same in both is said to both."""

import subprocess
import sys

import pytest
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.schema import CreateIndex

from app.storage.schema.table_base import complete_indexes
from app.storage.schema.tables import metadata

pytestmark = pytest.mark.any_database


def test_a_start_loads_no_dialect_of_a_server():
    loads = "import sys, app.server.run; sys.exit('sqlalchemy.dialects.postgresql' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", loads], check=False).returncode == 0


def test_an_index_of_what_is_kept_leaves_out_the_bin_in_both():
    complete_indexes()
    made = [
        [str(CreateIndex(index).compile(dialect=one.dialect())) for one in (sqlite, postgresql)]
        for table in metadata.tables.values()
        for index in table.indexes
    ]
    kept = [both for both in made if both[0].endswith(" WHERE deleted_at IS NULL")]
    assert len(kept) == 2, "a test once at a time, a stay once a day"
    assert all(on_file == on_server for on_file, on_server in made)
