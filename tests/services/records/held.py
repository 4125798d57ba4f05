"""What records hold, and what a report counts."""

from app.storage.database.engine import read_session
from app.storage.records.tables_as_rows import record_tables, rows


def everything(store):
    with read_session(store.engine) as session:
        return {table.name: list(rows(session, table)) for table in record_tables()}


def counts(report):
    return {one.title: (one.new, one.same, one.differing, one.left_out) for one in report.counts}
