"""Use cases of reports for print."""

from datetime import date

from app.analysis.reports.discharge_report import first_measured
from app.analysis.reports.printed_battery import PrintedBattery, printed_battery
from app.analysis.reports.printed_test import PrintedTest, printed_test
from app.services.entities.batteries import analysed, lives_of
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, discharges, events, meters


def report_test(store: Store, discharge_id: int, today: date) -> PrintedTest:
    """The report of one test. Raises NotFound."""
    with read_session(store.engine) as session:
        test = discharges.get(session, discharge_id)
        battery = batteries.get(session, test.battery_id)
        meter = meters.get(session, test.details.meter_id) if test.details.meter_id else None
        result = store.results.result(test, battery, meter)
        first = first_measured(analysed(store, session, battery), test)
        return printed_test(test, battery, meter, result, first, today)


def report_battery(store: Store, battery_id: int, today: date) -> PrintedBattery:
    """The report of a battery with all its tests. Raises NotFound."""
    with read_session(store.engine) as session:
        battery = batteries.get(session, battery_id)
        known = {meter.id: meter for meter in meters.all_kept(session)}
        tests = analysed(store, session, battery, known)
        happened = events.of_battery(session, battery_id)
        lives = lives_of(session, battery)
        return printed_battery(battery, tests, known, happened, today, lives)
