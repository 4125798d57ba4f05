"""A look at a test before it is stored, and the owner's answers, which are kept with it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256

from app.analysis.doubt import Doubt, DoubtKind, Known, OtherTest
from app.analysis.examined import other_test
from app.analysis.load import is_bridged
from app.analysis.plausibility import doubts_about
from app.domain.battery import Battery
from app.domain.discharge import Discharge, DischargeDetails
from app.domain.noted import noted
from app.domain.saying import USUAL, preferred, say, shown_as
from app.services.store import Store
from app.storage import batteries, discharges
from app.storage.engine import reading, writing

ANSWER = noted("Looked at again, and meant as it stands. {finding}")
# When a test is entered these are worth a question; of one that is stored they say little.
_ON_ENTRY = (DoubtKind.START, DoubtKind.LOAD)


@dataclass(frozen=True)
class Question:
    """A doubt in its reader's language, and the English sentence under which an answer is kept."""

    doubt: Doubt
    answer: str

    @property
    def field(self) -> str:
        """The name of its field in a form: another value is another question."""
        return f"meant_{sha256(self.answer.encode()).hexdigest()[:12]}"

    def is_answered_in(self, details: DischargeDetails) -> bool:
        return self.answer in details.assumptions


def questions_before_storing(
    store: Store,
    battery_id: int,
    details: DischargeDetails,
    now: datetime,
    test_id: int | None,
    power_w: Sequence[float] | None = None,
) -> tuple[Question, ...]:
    """What should be asked about a test before it is stored, or stored anew. Raises NotFound.

    power_w is what its file says of the power of each reading, which is not stored.
    """
    with reading(store.engine) as session:
        battery = batteries.get(session, battery_id)
        others = _without(discharges.of_battery(session, battery_id), test_id)
    return _questions(details, battery, others, now, power_w)


def open_questions(
    test: Discharge, battery: Battery, tests: Sequence[Discharge]
) -> tuple[Question, ...]:
    """What can hardly be about a stored test, however it came in, and nobody answered yet.

    tests are all of the battery.
    """
    found = _questions(test.details, battery, _without(tests, test.id), None)
    return tuple(
        one
        for one in found
        if one.doubt.kind not in _ON_ENTRY and not one.is_answered_in(test.details)
    )


def with_answers(details: DischargeDetails, questions: tuple[Question, ...]) -> DischargeDetails:
    """The test with its owner's word that all of this is meant."""
    new = [one.answer for one in questions if not one.is_answered_in(details)]
    return replace(details, assumptions=(*details.assumptions, *new))


def mean_it(store: Store, discharge_id: int, now: datetime) -> Discharge:
    """Keep the owner's word on every open question of a stored test. Raises NotFound."""
    with writing(store.engine) as session:
        test = discharges.get(session, discharge_id)
        battery = batteries.get(session, test.battery_id)
        tests = discharges.of_battery(session, battery.id)
        details = with_answers(test.details, open_questions(test, battery, tests))
        return discharges.change(session, discharge_id, details, now)


def _without(tests: Sequence[Discharge], test_id: int | None) -> tuple[Discharge, ...]:
    return tuple(one for one in tests if one.id != test_id)


def _questions(
    details: DischargeDetails,
    battery: Battery,
    others: tuple[Discharge, ...],
    now: datetime | None,
    power_w: Sequence[float] | None = None,
) -> tuple[Question, ...]:
    about = battery.details

    def asked() -> tuple[Doubt, ...]:
        known = Known(
            rated_ah=about.rated_ah,
            chemistry=about.chemistry,
            nominal_v=about.nominal_v,
            cut_off_v=details.cut_off_v or about.cut_off_v,
            started_at=details.started_at,
            now=now,
            others=tuple(_other(one) for one in others),
            power_w=power_w,
        )
        found = doubts_about(details.readings, known)
        # What the count bridges by itself is told there, and not asked.
        return tuple(one for one in found if one.kind is not DoubtKind.LONE or not bridged)

    bridged = is_bridged(details.readings)
    shown = asked()
    if preferred() == USUAL or not shown:
        kept = shown
    else:
        with shown_as():
            kept = asked()
    with shown_as():
        answers = [say(ANSWER, finding=one.finding) for one in kept]
    return tuple(Question(*pair) for pair in zip(shown, answers, strict=True))


def _other(test: Discharge) -> OtherTest:
    name = say("the test of {day}", day=test.details.started_local.date())
    return other_test(name, test.details.started_at, test.details.readings)
