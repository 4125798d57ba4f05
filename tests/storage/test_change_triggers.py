"""The database draws a new stamp with every change of a row that answers are made of."""

from datetime import date

import pytest
from sqlalchemy import delete, insert, select, text, update

from app.settings import MIGRATIONS
from app.storage.database.engine import data_file, dry_run_session, read_session, write_transaction
from app.storage.database.migrations import upgrade
from app.storage.repositories.change_stamps import stamp_of_logs, stamps
from app.storage.schema.change_triggers import WATCHED, triggers_stand
from app.storage.schema.computed_table import CHANGE_STAMP
from app.storage.schema.tables import metadata
from tests.builders import NOW
from tests.storage.every_table import grow

# What no report, curve, night or heat page of a battery is made of.
NOT_WATCHED = {
    "attachment",
    "file_shape",
    "photo",
    "revision",
    "run",
    "run_reading",
    "setting",
    "share",
    "share_beside",
}


@pytest.fixture
def grown(store):
    grow(store)
    return store


def stamped(session):
    return {row.owner: row.stamp for row in session.execute(select(CHANGE_STAMP))}


def owners_changed(session, statement):
    """The owners whose stamp a statement draws anew."""
    before = stamped(session)
    session.execute(statement)
    after = stamped(session)
    return {owner for owner in {*before, *after} if before.get(owner) != after.get(owner)}


def test_every_table_is_watched_or_known_to_be_in_no_answer():
    advice = "a new table: add it to WATCHED where a report, a chart or an answer is made of it"
    assert {*metadata.tables} == NOT_WATCHED | {*WATCHED}, advice


@pytest.mark.parametrize("name", WATCHED)
def test_each_change_of_a_row_is_told(grown, name):
    table = metadata.tables[name]
    with write_transaction(grown.engine) as session:
        row = dict(session.execute(select(table).limit(1)).mappings().one())
        # A copy, which is told from it by what must differ.
        row |= {"id": 1_000}
        row |= {"uid": "copy"} if "uid" in row else {}
        row |= {key: date(2031, 1, 1) for key in ("from_date", "on_date") if key in row}
        row |= {"deleted_at": NOW} if "deleted_at" in row else {}
        here, of_whom = table.c.id == 1_000, WATCHED[name]
        owner = row[of_whom] if isinstance(of_whom, str) else of_whom
        assert owners_changed(session, insert(table).values(row)) == {owner}
        assert owners_changed(session, update(table).where(here).values(id=1_000)) == {owner}
        assert owners_changed(session, delete(table).where(here)) == {owner}


def test_a_test_that_changes_its_battery_is_told_of_both(grown):
    moved = update(metadata.tables["discharge"]).where(text("id = 1")).values(battery_id=2)
    with write_transaction(grown.engine) as session:
        assert owners_changed(session, moved) == {1, 2}


def test_a_stamp_that_was_taken_back_never_comes_again(grown):
    bump = update(metadata.tables["event"]).values(version=9)
    seen = []
    for _ in range(2):
        with dry_run_session(grown.engine) as session:
            session.execute(bump)
            seen.append(stamps(session, [1])[1])
    with read_session(grown.engine) as session:
        assert len({*seen, stamps(session, [1])[1]}) == 3


def test_what_has_no_stamp_is_never_taken_for_known(grown):
    with write_transaction(grown.engine) as session:
        session.execute(delete(CHANGE_STAMP))
        assert stamps(session, [1]) != stamps(session, [1])
        assert stamp_of_logs(session) != stamp_of_logs(session)


@pytest.mark.data_file
def test_a_start_makes_lost_triggers_anew_and_trusts_no_stamp_from_before(grown):
    with write_transaction(grown.engine) as session:
        before = stamped(session)
        session.execute(text("DROP TRIGGER stamp_discharge_update"))
        assert not triggers_stand(session.connection())
    upgrade(data_file(grown.engine), MIGRATIONS)
    with read_session(grown.engine) as session:
        assert triggers_stand(session.connection())
        after = stamped(session)
    assert before.keys() == after.keys()
    assert not {*before.values()} & {*after.values()}
