"""Two copies of records that grow apart and are brought together."""

import shutil
import tempfile
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from app.domain.errors import FadelineError, InvalidInput
from app.services.entities import batteries, discharges, runs
from app.services.exchange import records_archive
from app.services.store import Store
from app.storage.schema.packing import pack_readings
from tests import stateful_model as g
from tests.archives import exported
from tests.builders import NOW
from tests.postgres import file_damages
from tests.services.records.held import everything

SIDES = st.integers(0, 1)
PICKS = st.integers(0, 30)
OUTCOMES: Counter[str] = Counter()


def comparable(store: Store) -> dict[str, list[dict[str, Any]]]:
    """Every row of every table; readings as bytes, in which a gap equals a gap."""
    found = everything(store)
    for row in found["revision"]:
        if "readings" in row["before"]:
            row["before"]["readings"] = pack_readings(row["before"]["readings"])
    return found


def figures(store: Store, today: date) -> str:
    """Every figure of every battery, as a text in which a gap equals a gap, a NUL its picture."""
    reports = sorted(batteries.list_batteries(store, today).shown, key=lambda report: report.id)
    return repr(reports).replace("\\x00", "␀")


class TwoCopies(RuleBasedStateMachine):
    """What is done with one of the two copies, and what goes between them."""

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
        records_archive.restore_records(self.sides[1], self.path / "out.zip")

    # between copies

    @rule(side=SIDES)
    def comes_back(self, side):
        """Out, into an empty file and out again: the same bytes, contents and figures."""
        store = self.sides[side]
        first = exported(store, self.path / "out.zip")
        back = self.folder.store()
        report = records_archive.restore_records(back, self.path / "out.zip")
        assert (report.was_empty, report.conflicts) == (True, ())
        assert exported(back, self.path / "again.zip") == first
        assert comparable(back) == comparable(store)
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
        sent, before = comparable(self.sides[source]), comparable(store)
        try:
            report = records_archive.restore_records(store, self.path / "out.zip", merge=True)
        except InvalidInput:
            assert comparable(store) == before
            OUTCOMES["merge refused"] += 1
            return
        after = comparable(store)
        for (name, there), count in zip(before.items(), report.counts, strict=True):
            key = "name" if name == "setting" else "id"
            kept = {row[key]: row for row in after[name]}
            assert [kept[row[key]] for row in there] == there, name
            assert len(after[name]) == len(there) + count.new
            assert count.total == len(sent[name])
        again = records_archive.restore_records(store, self.path / "out.zip", merge=True)
        assert again.new == 0
        assert comparable(store) == after
        batteries.list_batteries(store, self.now.date())
        OUTCOMES["merged" if report.new else "merged nothing new"] += 1
        OUTCOMES["conflicts"] += len(report.conflicts)
