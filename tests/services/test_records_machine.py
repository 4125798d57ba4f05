"""Two copies of records grow by chance, apart and together; nothing is lost on the way out and in.

Bounded for everyday; EXAMPLES and STEPS in the environment let it search for longer.
"""

import os
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from app.domain.errors import FadelineError, Refused
from app.domain.event import EventKind
from app.domain.run import RunState
from app.services import batteries, discharges, events, meters, places, records, runs, shares
from app.services.shares import ShareWish
from app.services.store import Store
from app.storage import discharges as discharge_rows
from app.storage.engine import reading, writing
from app.storage.packing import pack_readings
from app.storage.record_tables import record_tables, rows
from tests import growing as g
from tests.archives import empty_store, exported
from tests.builders import NOW
from tests.servers import file_damages

SIDES = st.integers(0, 1)
PICKS = st.integers(0, 30)
EXAMPLES = int(os.environ.get("EXAMPLES", "8"))
STEPS = int(os.environ.get("STEPS", "20"))
SEARCHING = "EXAMPLES" in os.environ
OUTCOMES: Counter[str] = Counter()


def everything(store: Store) -> dict[str, list[dict[str, Any]]]:
    """Every row of every table; readings as bytes, in which a gap equals a gap."""
    with reading(store.engine) as session:
        found = {table.name: list(rows(session, table)) for table in record_tables()}
    for row in found["revision"]:
        if "readings" in row["before"]:
            row["before"]["readings"] = pack_readings(row["before"]["readings"])
    return found


def figures(store: Store, today: date) -> str:
    """Every figure of every battery, as a text in which a gap equals a gap, a NUL its picture."""
    reports = sorted(batteries.list_batteries(store, today).shown, key=lambda report: report.id)
    return repr(reports).replace("\\x00", "␀")


class GrowingRecords(RuleBasedStateMachine):
    """Each rule is a use case on one of the two copies, or something between them."""

    empty: Path

    def __init__(self) -> None:
        super().__init__()
        self.path = Path(tempfile.mkdtemp(dir=self.empty.parent))
        self.folder = g.Folder(self.path, self.empty)
        self.sides = [self.folder.store(), self.folder.store()]
        self.now = NOW

    def teardown(self) -> None:
        try:
            for side in (0, 1):
                self.comes_back(side)
        finally:
            self.folder.close_all()
            shutil.rmtree(self.path)

    @invariant()
    def time_passes(self) -> None:
        self.now += timedelta(seconds=30)

    def attempt(self, name: str, what: Callable[[], object]) -> None:
        """Do it, or be refused in sentences."""
        try:
            what()
            OUTCOMES[name] += 1
        except FadelineError:
            OUTCOMES[f"{name} refused"] += 1

    def on(self, name: str, side: int, table: str, pick: int, do: Callable[..., object]) -> None:
        """Do something with one of the rows that are there, in the bin or not."""
        there = g.numbers_in(self.sides[side], table)
        if there:
            self.attempt(name, lambda: do(self.sides[side], there[pick % len(there)]))

    @initialize(details=g.BATTERIES, test=g.DISCHARGES, run=g.RUNS)
    def begin(self, details, test, run):
        """Both copies have a battery in common, with a test and a run where these are taken."""
        store = self.sides[0]
        battery = batteries.add_battery(store, details)
        kind = g.MeterKind.SHUNT
        self.attempt(
            "add test",
            lambda: discharges.add_discharge(store, battery.id, test, kind, self.now),
        )
        self.attempt("start run", lambda: runs.start_run(store, battery.id, run, kind, self.now))
        exported(store, self.path / "out.zip")
        records.restore_records(self.sides[1], self.path / "out.zip")

    # batteries and meters

    @rule(side=SIDES, details=g.BATTERIES)
    def add_battery(self, side, details):
        self.attempt("add battery", lambda: batteries.add_battery(self.sides[side], details))

    @rule(side=SIDES, pick=PICKS, details=g.BATTERIES)
    def change_battery(self, side, pick, details):
        def do(store, number):
            batteries.change_battery(store, number, details, self.now)

        self.on("change battery", side, "battery", pick, do)

    @rule(side=SIDES, details=g.METERS)
    def add_meter(self, side, details):
        self.attempt("add meter", lambda: meters.add_meter(self.sides[side], details))

    @rule(side=SIDES, pick=PICKS, details=g.METERS)
    def change_meter(self, side, pick, details):
        def do(store, number):
            meters.change_meter(store, number, details, self.now)

        self.on("change meter", side, "meter", pick, do)

    @rule(side=SIDES, pick=PICKS, what=st.sampled_from(["battery", "discharge", "event"]))
    def bin_something(self, side, pick, what):
        put = {
            "battery": batteries.bin_battery,
            "discharge": discharges.bin_discharge,
            "event": events.bin_event,
        }[what]
        self.on(f"bin {what}", side, what, pick, lambda store, n: put(store, n, self.now))

    @rule(side=SIDES, pick=PICKS, what=st.sampled_from(["battery", "discharge", "event"]))
    def restore_something(self, side, pick, what):
        back = {
            "battery": batteries.restore_battery,
            "discharge": discharges.restore_discharge,
            "event": events.restore_event,
        }[what]
        self.on(f"restore {what}", side, what, pick, back)

    # tests

    @rule(
        side=SIDES,
        pick=PICKS,
        details=g.DISCHARGES,
        kind=g.METER_KINDS,
        original=g.perhaps(g.ORIGINALS),
    )
    def add_discharge(self, side, pick, details, kind, original):
        def do(store, number):
            discharges.add_discharge(store, number, details, kind, self.now, original)

        self.on("add test", side, "battery", pick, do)

    @rule(side=SIDES, pick=PICKS, details=g.DISCHARGES)
    def add_discharge_without_meter(self, side, pick, details):
        def do(store, number):
            discharges.try_discharge(store, number, details, next(iter(g.MeterKind)))
            with writing(store.engine) as session:
                discharge_rows.add(session, number, details)

        self.on("add test without meter", side, "battery", pick, do)

    @rule(
        side=SIDES,
        pick=PICKS,
        details=g.DISCHARGES,
        kind=g.METER_KINDS,
        original=g.perhaps(g.ORIGINALS),
    )
    def change_discharge(self, side, pick, details, kind, original):
        def do(store, number):
            discharges.change_discharge(store, number, details, kind, self.now, original)

        self.on("change test", side, "discharge", pick, do)

    @rule(side=SIDES, pick=PICKS, reason=g.words(400))
    def leave_out(self, side, pick, reason):
        def do(store, number):
            discharges.leave_out(store, number, reason, self.now)

        self.on("leave out", side, "discharge", pick, do)

    @rule(side=SIDES, pick=PICKS, caption=g.words(200), tail=st.binary(max_size=3))
    def add_photo(self, side, pick, caption, tail):
        def do(store, number):
            g.add_photo(store, number, caption, tail, self.now)

        self.on("add photo", side, "discharge", pick, do)

    # places, and what is known of them

    @rule(side=SIDES, details=g.PLACES)
    def add_place(self, side, details):
        self.attempt("add place", lambda: places.add_place(self.sides[side], details))

    @rule(side=SIDES, pick=PICKS, details=g.PLACES)
    def change_place(self, side, pick, details):
        def do(store, number):
            places.change_place(store, number, details, self.now)

        self.on("change place", side, "place", pick, do)

    @rule(side=SIDES, pick=PICKS, at=PICKS, days_ago=st.integers(0, 5))
    def move_battery(self, side, pick, at, days_ago):
        def do(store, number):
            there = g.numbers_in(store, "place")
            if there:
                day = NOW.date() - timedelta(days=days_ago)
                places.move_battery(store, number, there[at % len(there)], day)

        self.on("move battery", side, "battery", pick, do)

    @rule(side=SIDES, pick=PICKS, source=g.words(200), days=g.DAYS)
    def add_temperatures(self, side, pick, source, days):
        def do(store, number):
            g.add_log(store, number, source, days, self.now)

        self.on("add temperatures", side, "place", pick, do)

    # what belongs to batteries, and settings

    @rule(
        side=SIDES,
        pick=PICKS,
        day=st.dates(NOW.date().replace(year=1970), NOW.date()),
        kind=st.sampled_from(EventKind),
        note=g.words(400),
    )
    def add_event(self, side, pick, day, kind, note):
        def do(store, number):
            events.add_event(store, number, day, kind, note)

        self.on("add event", side, "battery", pick, do)

    @rule(
        side=SIDES,
        pick=PICKS,
        label=g.words(80),
        shows=g.PARTS,
        beside=st.lists(PICKS, max_size=3),
        test=g.perhaps(PICKS),
        ends=st.booleans(),
    )
    def share(self, side, pick, label, shows, beside, test, ends):
        def do(store, number):
            batteries_there = g.numbers_in(store, "battery")
            tests_there = g.numbers_in(store, "discharge")
            others = tuple(batteries_there[one % len(batteries_there)] for one in beside)
            one = tests_there[test % len(tests_there)] if test and tests_there else None
            until = self.now + timedelta(days=7) if ends else None
            wish = ShareWish(shows, one, others)
            made = shares.share_battery(store, number, label, until, self.now, wish)
            shares.count_view(store, made.token, self.now)

        self.on("share", side, "battery", pick, do)

    @rule(side=SIDES, pick=PICKS)
    def revoke_share(self, side, pick):
        def do(store, number):
            shares.revoke_share(store, number, self.now)

        self.on("revoke", side, "share", pick, do)

    @rule(side=SIDES, name=st.sampled_from(["greeting", "NULL", "π"]), value=g.words(400))
    def put_setting(self, side, name, value):
        g.put_setting(self.sides[side], name, value)

    # running tests

    @rule(side=SIDES, pick=PICKS, details=g.RUNS, kind=g.METER_KINDS)
    def start_run(self, side, pick, details, kind):
        def do(store, number):
            runs.start_run(store, number, details, kind, self.now)

        self.on("start run", side, "battery", pick, do)

    @rule(side=SIDES, pick=PICKS, given=st.lists(g.GIVEN, min_size=1, max_size=4))
    def feed_readings(self, side, pick, given):
        def do(store, number):
            details = runs.show_run(store, number, self.now).run.details
            word = runs.open_feed(store, number)
            fed = [g.at_run(one, details) for one in given]
            runs.feed_readings(store, number, word, fed, self.now)

        self.on("feed", side, "run", pick, do)

    @rule(side=SIDES, pick=PICKS, given=g.GIVEN, reason=g.words(400), strike=st.booleans())
    def correct_reading(self, side, pick, given, reason, strike):
        def do(store, number):
            with reading(store.engine) as session:
                query = g.select(g.metadata.tables["run_reading"].c.run_id)
                run_id = session.exec(
                    query.where(g.metadata.tables["run_reading"].c.id == number)
                ).one()
            if strike:
                runs.strike_reading(store, run_id, number, reason, self.now)
            else:
                details = runs.show_run(store, run_id, self.now).run.details
                at = g.at_run(given, details)
                runs.correct_reading(store, run_id, number, at, self.now)

        self.on("strike" if strike else "correct", side, "run_reading", pick, do)

    @rule(side=SIDES, pick=PICKS, how=st.sampled_from(["end", "give up", "resume", "close feed"]))
    def settle_run(self, side, pick, how):
        def do(store, number):
            if how == "end":
                runs.end_run(store, number, g.EndReason.UNKNOWN, None)
            elif how == "give up":
                runs.abandon_run(store, number)
            elif how == "resume":
                assert runs.resume_run(store, number).state is RunState.RUNNING
            else:
                runs.close_feed(store, number)

        self.on(how, side, "run", pick, do)

    # between copies

    @rule(side=SIDES)
    def comes_back(self, side):
        """Out, into an empty file and out again: the same bytes, contents and figures."""
        store = self.sides[side]
        first = exported(store, self.path / "out.zip")
        back = self.folder.store()
        report = records.restore_records(back, self.path / "out.zip")
        assert (report.was_empty, report.conflicts) == (True, ())
        assert exported(back, self.path / "again.zip") == first
        assert everything(back) == everything(store)
        today = self.now.date()
        assert figures(back, today) == figures(store, today)
        assert file_damages(back) == ()
        self.folder.close(back)
        OUTCOMES["came back"] += 1

    @rule(source=SIDES)
    def merge(self, source):
        """From one copy into the other: only added to, told of in full, and once is enough."""
        store = self.sides[1 - source]
        exported(self.sides[source], self.path / "out.zip")
        sent, before = everything(self.sides[source]), everything(store)
        try:
            report = records.restore_records(store, self.path / "out.zip", merge=True)
        except Refused:
            assert everything(store) == before
            OUTCOMES["merge refused"] += 1
            return
        after = everything(store)
        for (name, there), count in zip(before.items(), report.counts, strict=True):
            key = "name" if name == "setting" else "id"
            kept = {row[key]: row for row in after[name]}
            assert [kept[row[key]] for row in there] == there, name
            assert len(after[name]) == len(there) + count.new
            assert count.total == len(sent[name])
        again = records.restore_records(store, self.path / "out.zip", merge=True)
        assert again.new == 0
        assert everything(store) == after
        batteries.list_batteries(store, self.now.date())
        OUTCOMES["merged" if report.new else "merged nothing new"] += 1
        OUTCOMES["conflicts"] += len(report.conflicts)


@pytest.fixture(scope="module", autouse=True)
def empty(tmp_path_factory):
    folder = tmp_path_factory.mktemp("machine")
    store = empty_store(folder)
    # Nothing is left in a log beside the file once the last connection is closed.
    store.engine.dispose()
    GrowingRecords.empty = folder / "fadeline.db"
    yield
    if SEARCHING:
        print(OUTCOMES)


TestGrowingRecords = GrowingRecords.TestCase
TestGrowingRecords.settings = settings(
    max_examples=EXAMPLES,
    stateful_step_count=STEPS,
    deadline=None,
    derandomize=not SEARCHING,
    database=None,
    report_multiple_bugs=False,
    # Making a failing example smaller takes minutes here.
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
