"""A battery with a record of steady tests, judged without any data file. Invented."""

from app.analysis.battery.battery_report import battery_report
from app.analysis.evidence.result import analyse_test
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge, EndReason
from app.domain.entities.meter import Meter, MeterKind, typical
from tests.builders import NOW, battery_details, discharge_details, steady

TODAY = NOW.date()
SHUNT = Meter(1, typical(MeterKind.SHUNT), 1)
AMPS = 20.0


def battery(number=1, **changes):
    return Battery(number, battery_details(**({"daily_use_ah": 25.0} | changes)), 1)


def record(of, capacities, *, meter=SHUNT, last_days_ago=10, every=180, **changes):
    """Tests at the rated current, the last one so many days ago: (test, result, meter) each."""
    found = []
    for number, capacity in enumerate(capacities):
        ago = last_days_ago + every * (len(capacities) - 1 - number)
        details = discharge_details(
            steady(hours=capacity / AMPS, amps=AMPS, step_h=capacity / AMPS / 20),
            days_ago=ago,
            meter_id=meter.id,
            **changes,
        )
        test = Discharge(number + 1, of.id, details, 1)
        found.append((test, analyse_test(details, of.details, meter.details), meter))
    return found


def stopped(of, amp_hours, **changes):
    """A single test that was stopped while the battery still gave."""
    readings = steady(hours=amp_hours / AMPS, amps=AMPS, last_v=12.9, step_h=amp_hours / AMPS / 20)
    details = discharge_details(
        readings, **({"end_reason": EndReason.TIME, "meter_id": 1} | changes)
    )
    test = Discharge(1, of.id, details, 1)
    return [(test, analyse_test(details, of.details, SHUNT.details), SHUNT)]


def report_of(of, tests, as_of=TODAY):
    return battery_report(of, [(test, result) for test, result, _ in tests], (), as_of)
