"""Everything that an owner does with records, by chance."""

from datetime import timedelta

from hypothesis import strategies as st
from hypothesis.stateful import rule

from app.domain.entities.event import EventKind
from app.domain.entities.run import RunState
from app.services.access import shares
from app.services.access.shares import ShareWish
from app.services.entities import batteries, discharges, events, meters, places, runs
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import discharges as discharge_rows
from tests import stateful_model as g
from tests.builders import NOW
from tests.services.records.two_copies import PICKS, SIDES, TwoCopies


class GrowingRecords(TwoCopies):
    """Each rule is a use case on one of the two copies."""

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
            with write_transaction(store.engine) as session:
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
            with read_session(store.engine) as session:
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
