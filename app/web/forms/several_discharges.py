"""Which discharges of a file are meant: one, or all, each as a test of its own."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say
from app.domain.local_clock import day_here
from app.services.entities import imports
from app.services.entities.imports import ComingTest, NewTest
from app.services.exchange.staged_upload import Source
from app.services.store import Store
from app.web.forms.discharge_form import read_discharge

WHICH = "which_discharge"
ALL = "all"


def wants_all(values: Mapping[str, str]) -> bool:
    """Whether every discharge of the file is meant."""
    return values.get(WHICH) == ALL


def read_several(
    store: Store,
    battery_id: int,
    values: Mapping[str, str],
    sources: Sequence[Source],
    now: datetime,
) -> tuple[ComingTest, ...]:
    """Every discharge with the conditions of the form. Raises InvalidInput.

    When each began its file has to say; a start and an end that were typed are of one of them.
    """
    refused = [
        FieldError(label, values[name], say("nothing here: it applies to one discharge only"), name)
        for name, label in (
            ("day", say("day")),
            ("start_time", say("start time")),
            ("ended_after_h", say("hours until the end")),
            ("off_at", say("moment of the end")),
        )
        if values.get(name, "").strip()
    ]
    if any(one.started_at is None for one in sources):
        allowed = say("one discharge at a time: the file does not give their days")
        refused.append(FieldError(say("discharge"), say("all"), allowed, WHICH))
    if refused:
        raise InvalidInput(refused)
    given = [read_discharge(values, source, None, day_here(now)) for source in sources]
    called = [
        (number, say("discharge {number}", number=number)) for number in range(1, len(given) + 1)
    ]
    tests = [NewTest(one.details, one.meter) for one in given]
    powers_w = [source.power_w for source in sources]
    return imports.consider(store, battery_id, tests, called, now, powers_w)


def without_answers(values: Mapping[str, str]) -> dict[str, str]:
    """Without what was chosen about the columns and the parts of a file."""
    about_parts = ("sheet", "shown_sheet", "channel", WHICH)
    return {
        name: text
        for name, text in values.items()
        if name not in about_parts and not name.startswith("use_")
    }
