"""A look at a test before it is stored, and the owner's answers, which are kept with it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from hashlib import sha256

from app.analysis.counting.load_profile import is_bridged
from app.analysis.counting.run_columns import RunColumns
from app.analysis.plausibility.noted_result import doubts_about_result
from app.analysis.plausibility.plausibility import doubts_about
from app.analysis.plausibility.questions import Doubt, DoubtKind, Known, OtherTest
from app.analysis.plausibility.run_questions import questions_about
from app.analysis.plausibility.stored_test import other_test
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.run import RunReading
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_HOUR
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, discharges

ANSWER = N_("Checked, and right as entered. {finding}")
# When a test is entered these are worth a question; of one that is stored they say little.
_ON_ENTRY = (DoubtKind.START, DoubtKind.LOAD)


@dataclass(frozen=True)
class StorageQuestion:
    """A doubt, and the sentence under which an answer to it is kept."""

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
) -> tuple[StorageQuestion, ...]:
    """What should be asked about a test before it is stored, or stored anew. Raises NotFound.

    power_w is what its file says of the power of each reading, which is not stored.
    """
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        others = _without(discharges.of_battery(session, battery_id), test_id)
    return _questions(details, battery, others, now, power_w=power_w)


@dataclass(frozen=True)
class AboutOneOfSeveral:
    """What should be asked about a test that comes in with others.

    told is about others of the same day among them, which their list shows side by side: who
    stores it has seen that.
    """

    questions: tuple[StorageQuestion, ...]
    told: tuple[StorageQuestion, ...]


def questions_about_several(
    store: Store,
    battery_id: int,
    tests: Sequence[DischargeDetails],
    now: datetime,
    powers_w: Sequence[Sequence[float] | None] = (),
) -> list[AboutOneOfSeveral]:
    """What should be asked about each of several tests that come in together. Raises NotFound.

    Each is held against those that are stored, and against the next ones beside it: a day far from
    all of them is rather a slip in the year. powers_w are as for one test.
    """
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        stored = tuple(_other(one) for one in discharges.of_battery(session, battery_id))
    by_day: dict[date, list[int]] = {}
    for i, one in enumerate(tests):
        by_day.setdefault(one.started_local.date(), []).append(i)
    days = sorted(by_day)
    found: dict[int, AboutOneOfSeveral] = {}
    for place, day in enumerate(days):
        beside = (*days[max(0, place - 1) : place], *days[place + 1 :][:1])
        near = tuple(_as_other(tests[by_day[other][0]]) for other in beside)
        for i in by_day[day]:
            same = tuple(_as_other(tests[j]) for j in by_day[day] if j != i)
            power_w = powers_w[i] if powers_w else None
            known = _known(tests[i], battery, now, (*stored, *near), power_w)
            asked = _asked(tests[i], known)
            told = _asked(tests[i], _known(tests[i], battery, now, same)) if same else ()
            told = tuple(about for about in told if about.doubt.kind is DoubtKind.OVERLAP)
            found[i] = AboutOneOfSeveral(asked, told)
    return [found[i] for i in range(len(tests))]


def open_questions(
    test: Discharge, battery: Battery, tests: Sequence[Discharge]
) -> tuple[StorageQuestion, ...]:
    """What can hardly be about a stored test, however it came in, and nobody answered yet.

    tests are all of the battery.
    """
    found = _questions(test.details, battery, _without(tests, test.id), None)
    return tuple(
        one
        for one in found
        if one.doubt.kind not in _ON_ENTRY and not one.is_answered_in(test.details)
    )


def tests_in_question(battery: Battery, tests: Sequence[Discharge]) -> tuple[int, ...]:
    """The numbers of a battery's tests with open questions, in the order of the tests."""

    def is_open(doubt: Doubt, details: DischargeDetails) -> bool:
        if doubt.kind in _ON_ENTRY or say(ANSWER, finding=doubt.finding) in details.assumptions:
            return False
        return doubt.kind is not DoubtKind.LONE or not is_bridged(details.readings)

    others = tuple(_other(one) for one in tests)
    found = []
    for row, test in enumerate(tests):
        known = _known(test.details, battery, None, (*others[:row], *others[row + 1 :]))
        doubts = _doubts(test.details, known)
        if any(is_open(one, test.details) for one in doubts):
            found.append(test.id)
    return tuple(found)


def with_answers(
    details: DischargeDetails, questions: tuple[StorageQuestion, ...]
) -> DischargeDetails:
    """The test with its owner's word that all of this is meant."""
    new = [one.answer for one in questions if not one.is_answered_in(details)]
    return replace(details, assumptions=(*details.assumptions, *new))


def with_answers_of_run(
    details: DischargeDetails,
    battery: Battery,
    tests: Sequence[Discharge],
    noted: Sequence[RunReading],
) -> DischargeDetails:
    """A test that was noted while it ran, with what its owner meant by then; tests as above."""
    counting = [one for one in noted if not one.struck_reason]
    if not any(one.meant for one in counting):
        return details
    still = {one.doubt.kind for one in questions_about(RunColumns.of(counting), battery.details)}
    # What a count bridges by itself was asked while it ran: its owner's word is kept, too.
    found = _questions(details, battery, tuple(tests), None, bridged_too=True)

    def is_answered(doubt: Doubt) -> bool:
        if doubt.kind is DoubtKind.LONE:
            return counting[(doubt.row or 1) - 1].meant
        if doubt.kind is DoubtKind.CURRENT:
            return not still & {DoubtKind.CURRENT, DoubtKind.LONE}
        return doubt.kind is DoubtKind.VOLTAGE and doubt.kind not in still

    return with_answers(details, tuple(one for one in found if is_answered(one.doubt)))


def mean_it(store: Store, discharge_id: int, now: datetime) -> Discharge:
    """Keep the owner's word on every open question of a stored test. Raises NotFound."""
    with write_transaction(store.engine) as session:
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
    *,
    bridged_too: bool = False,
    power_w: Sequence[float] | None = None,
) -> tuple[StorageQuestion, ...]:
    known = _known(details, battery, now, tuple(_other(one) for one in others), power_w)
    return _asked(details, known, bridged_too=bridged_too)


def _asked(
    details: DischargeDetails, known: Known, *, bridged_too: bool = False
) -> tuple[StorageQuestion, ...]:
    bridged = not bridged_too and is_bridged(details.readings)
    return tuple(
        StorageQuestion(one, say(ANSWER, finding=one.finding))
        for one in _doubts(details, known)
        # What the count bridges by itself is told there, and not asked.
        if one.kind is not DoubtKind.LONE or not bridged
    )


def _known(
    details: DischargeDetails,
    battery: Battery,
    now: datetime | None,
    others: tuple[OtherTest, ...],
    power_w: Sequence[float] | None = None,
) -> Known:
    about, day = battery.details, battery.details.in_service_since
    zone, ended_h = details.started_local.tzinfo, details.ended_after_h
    return Known(
        rated_ah=about.rated_ah,
        chemistry=about.chemistry,
        nominal_v=about.nominal_v,
        cut_off_v=details.cut_off_v or about.cut_off_v,
        started_at=details.started_at,
        in_service_since=None if day is None else datetime.combine(day, time.min, zone),
        now=now,
        others=others,
        power_w=power_w,
        ended_after_s=None if ended_h is None else ended_h * SECONDS_PER_HOUR,
    )


def _other(test: Discharge) -> OtherTest:
    return _as_other(test.details)


def _as_other(details: DischargeDetails) -> OtherTest:
    return other_test(say("the test of {day}", day=details.started_local.date()), details)


def _doubts(details: DischargeDetails, known: Known) -> tuple[Doubt, ...]:
    if details.is_only_result:
        return doubts_about_result(details, known)
    return doubts_about(details.readings, known)
