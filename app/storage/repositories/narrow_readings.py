"""The readings of a run without what only a list shows, and whether those read before hold."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import String, select, type_coerce
from sqlmodel import Session, col, func

from app.storage.schema.tables import RevisionRow, RunReadingRow

Change = tuple[Any, ...]


def narrow_readings(session: Session, run_id: int, after: int = 0) -> Sequence[Sequence[Any]]:
    """A row for each reading stored after that one, in order of time; all of them after 0.

    Number, moment, current, voltage, temperature, whether it was meant, whether it is struck,
    whether it has a counter's figure. The moment is text as a data file has it, and what the
    driver makes of it of a database: one by one they would take most of the time.
    """
    row = RunReadingRow
    query = select(
        col(row.id),
        type_coerce(col(row.at), String),
        col(row.current_a),
        col(row.voltage_v),
        col(row.temperature_c),
        col(row.meant),
        col(row.struck_reason) != "",
        col(row.counted_ah).is_not(None),
    )
    if after:
        # What is not a plain column has no index: the new ones are found by their number.
        query = query.where(col(row.id) > after, col(row.run_id) + 0 == run_id)
    else:
        query = query.where(col(row.run_id) == run_id)
    return session.execute(query.order_by(col(row.at))).all()


def last_change(session: Session) -> Change:
    """Names the newest edit of any reading: another one, and readings may be what they were not."""
    row = RevisionRow
    newest = select(func.max(col(row.id))).where(col(row.thing) == "run_reading").scalar_subquery()
    query = select(*(col(one) for one in (row.id, row.thing_id, row.version, row.replaced_at)))
    return tuple(session.execute(query.where(col(row.id) == newest)).first() or ())
