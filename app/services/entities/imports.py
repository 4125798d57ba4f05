"""Use cases around tests that come in together: stored all or none, taken back in one step."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import uuid4

from app.analysis.reports.discharge_report import DischargeReport
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.errors import FieldError, InvalidInput, NotFound, StaleEdit
from app.domain.i18n.marks import N_plural
from app.domain.i18n.message import joined, say
from app.services.entities import doubts
from app.services.entities.discharges import (
    Original,
    add_judged,
    check_start,
    keep_original,
    try_discharge,
)
from app.services.entities.doubts import StorageQuestion
from app.services.entities.meters import MeterChoice
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, discharges

# Kept with each test: that the table it came from held more rows, and which.
LEFT_OUT = N_plural(
    "1 row of its table was left out (line {lines}).",
    "{count} rows of its table were left out (line {lines}).",
)
# So large a file is kept with the first of its tests alone.
_MAX_COPIED_BYTES = 20_000_000


@dataclass(frozen=True)
class NewTest:
    """A test that is stored together with others."""

    details: DischargeDetails
    meter: MeterChoice


@dataclass(frozen=True)
class ComingTest:
    """A test that would come in with others: what it would prove, and what is asked about it.

    number tells it from the others; told is about others of its day among them.
    """

    number: int
    new: NewTest
    report: DischargeReport
    questions: tuple[StorageQuestion, ...]
    told: tuple[StorageQuestion, ...]

    def field_of(self, question: StorageQuestion) -> str:
        """The name of a question's field: the same doubt about another test is another question."""
        return f"{question.field}_{self.number}"

    @property
    def meant(self) -> NewTest:
        """The test with its owner's word on everything that was asked or told."""
        details = doubts.with_answers(self.new.details, (*self.questions, *self.told))
        return replace(self.new, details=details)


def consider(
    store: Store,
    battery_id: int,
    tests: Sequence[NewTest],
    called: Sequence[tuple[int, str]],
    now: datetime,
    powers_w: Sequence[Sequence[float] | None] = (),
) -> tuple[ComingTest, ...]:
    """Look at tests before they are stored together.

    called are their numbers with what a refusal calls them; powers_w as for one test. Raises
    InvalidInput with every one that cannot be judged.
    """
    details = [one.details for one in tests]
    asked = doubts.questions_about_several(store, battery_id, details, now, powers_w)
    coming: list[ComingTest] = []
    problems: list[FieldError] = []
    for (number, name), new, about in zip(called, tests, asked, strict=True):
        try:
            check_start(new.details, now)
            report = try_discharge(store, battery_id, new.details, new.meter)
        except InvalidInput as refused:
            problems += [
                replace(one, where=joined(", ", (name, one.where))) for one in refused.problems
            ]
        else:
            coming.append(ComingTest(number, new, report, about.questions, about.told))
    if problems:
        raise InvalidInput(problems)
    return tuple(coming)


def add_discharges(
    store: Store,
    battery_id: int,
    tests: Sequence[NewTest],
    now: datetime,
    original: Original | None = None,
    import_uid: str = "",
) -> list[Discharge]:
    """Store tests that come in together, all or none; original is the file of all of them.

    They share an import_uid, by which take_back_import finds them; where one is given it is that
    of what is stored once only. Raises InvalidInput, NotFound, and StaleEdit where it is stored
    already.
    """
    import_uid = import_uid or uuid4().hex
    copies = 0 if original is None else len(original.data) * len(tests)
    for one in tests:
        check_start(one.details, now)
    with write_transaction(store.engine) as session:
        battery = batteries.get(session, battery_id)
        if discharges.of_import(session, battery_id, import_uid):
            raise StaleEdit(say("These tests are stored already. Nothing was stored twice."))
        stored: list[Discharge] = []
        for one in tests:
            details = replace(one.details, import_uid=import_uid)
            stored.append(add_judged(session, battery, details, one.meter))
            if len(stored) == 1 or copies <= _MAX_COPIED_BYTES:
                keep_original(session, stored[-1], original)
        return stored


@dataclass(frozen=True)
class Together:
    """How many tests of an import are stored and how many lie in the bin.

    left_out are the sentences that its tests keep about rows that did not come in.
    """

    stored: int
    binned: int
    left_out: tuple[str, ...]


def show_import(store: Store, battery_id: int, import_uid: str) -> Together:
    """What became of an import; nothing where there is none."""
    with read_session(store.engine) as session:
        found = discharges.of_import(session, battery_id, import_uid)
        binned = discharges.binned_of_import(session, battery_id, import_uid)
    said = found[0].details.assumptions if found else ()
    about_rows = (one for one in said if getattr(one, "text", "") == LEFT_OUT[0])
    return Together(len(found), binned, tuple(about_rows))


def take_back_import(
    store: Store, battery_id: int, import_uid: str, now: datetime
) -> list[Discharge]:
    """Move to the bin what came in together. Raises NotFound where nothing of it is left."""
    with write_transaction(store.engine) as session:
        found = discharges.of_import(session, battery_id, import_uid)
        if not found:
            raise NotFound(say("Nothing of this import is left to take back."))
        return [discharges.put_in_bin(session, one.id, now) for one in found]
