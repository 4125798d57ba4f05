"""The readings of a run without what only a list shows, and whether those read before hold."""

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import String, bindparam, select, type_coerce
from sqlmodel import Session, col, func

from app.storage.schema.tables import RevisionRow, RunReadingRow

Change = tuple[Any, ...]

_NARROW = (
    col(RunReadingRow.id),
    type_coerce(col(RunReadingRow.at), String),
    col(RunReadingRow.current_a),
    col(RunReadingRow.voltage_v),
    col(RunReadingRow.temperature_c),
    col(RunReadingRow.meant),
    col(RunReadingRow.struck_reason) != "",
    col(RunReadingRow.counted_ah).is_not(None),
)
# Put together once: the list asks for them as often as somebody looks.
_OF_RUN = (
    select(*_NARROW)
    .where(col(RunReadingRow.run_id) == bindparam("run_id"))
    .order_by(col(RunReadingRow.at))
)
# What is not a plain column has no index: the new ones are found by their number.
_NEWER = (
    select(col(RunReadingRow.run_id), *_NARROW)
    .where(
        col(RunReadingRow.id) > bindparam("after"),
        (col(RunReadingRow.run_id) + 0).in_(bindparam("run_ids", expanding=True)),
    )
    .order_by(col(RunReadingRow.at))
)


def narrow_readings(session: Session, run_id: int) -> Sequence[Sequence[Any]]:
    """A row for each reading, in order of time.

    Number, moment, current, voltage, temperature, whether it was meant, whether it is struck,
    whether it has a counter's figure. The moment is text as a data file has it, and what the
    driver makes of it of a database: one by one they would take most of the time.
    """
    return session.execute(_OF_RUN, {"run_id": run_id}).all()


def newer_readings(session: Session, after: Mapping[int, int]) -> dict[int, list[Sequence[Any]]]:
    """Of each of these runs such rows, stored after the reading of that number; asked for once."""
    found: dict[int, list[Sequence[Any]]] = {run_id: [] for run_id in after}
    if after:
        asked = {"after": min(after.values()), "run_ids": list(after)}
        for run_id, *row in session.execute(_NEWER, asked):
            if row[0] > after[run_id]:
                found[run_id].append(row)
    return found


def last_change(session: Session) -> Change:
    """Names the newest edit of any reading: another one, and readings may be what they were not."""
    row = RevisionRow
    newest = select(func.max(col(row.id))).where(col(row.thing) == "run_reading").scalar_subquery()
    query = select(*(col(one) for one in (row.id, row.thing_id, row.version, row.replaced_at)))
    return tuple(session.execute(query.where(col(row.id) == newest)).first() or ())
