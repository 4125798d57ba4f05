"""The owner's answer to a question about one reading of a running test."""

from dataclasses import replace
from datetime import datetime

from app.analysis.plausibility.run_questions import VOLTAGE, questions_about
from app.domain.entities.run import RunReading
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.services.entities.runs import open_run
from app.services.store import Store
from app.storage.database.engine import write_transaction
from app.storage.repositories import batteries, runs

MEANT = "meant"


def answer_question(
    store: Store, run_id: int, reading_id: int, answer: str, now: datetime
) -> RunReading:
    """Keep that a reading is meant, or correct it to one of the values that were offered.

    answer is MEANT, or the field and the value as in “current_a 9”. Raises NotFound, and
    InvalidInput where that was not offered, or no longer is.
    """
    with write_transaction(store.engine) as session:
        run = open_run(session, run_id)
        battery = batteries.get(session, run.battery_id)
        noted = runs.readings(session, run_id)
        asked = [
            one for one in questions_about(noted, battery.details) if one.reading_id == reading_id
        ]
        if answer == MEANT and asked:
            return runs.change_reading(session, run_id, reading_id, now, meant=True)
        before = next((one.given for one in noted if one.id == reading_id), None)
        for one in asked:
            for way in one.doubt.alternatives:
                value = way.value
                if before is None or value is None or way.as_it_stands:
                    continue
                if answer == f"{one.field} {value:.10g}":
                    given = (
                        replace(before, voltage_v=value)
                        if one.field == VOLTAGE
                        else replace(before, current_a=value)
                    )
                    return runs.change_reading(session, run_id, reading_id, now, given=given)
        allowed = say("an answer to an open question; this reading has none")
        raise InvalidInput.because(say("answer"), answer, allowed)
