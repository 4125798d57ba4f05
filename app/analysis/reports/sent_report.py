"""Everything a file to send shows, computed from what the file carries and nothing else."""

from dataclasses import dataclass, replace

from app.analysis.battery.battery_report import BatteryReport, battery_report
from app.analysis.evidence.result import analyse_test
from app.analysis.reports.discharge_report import discharge_report, first_measured
from app.analysis.reports.shared_report import SharedReport, SharedTest, shared_report, shared_test
from app.domain.entities.battery import Battery
from app.domain.finding import Finding
from app.domain.i18n.message import say
from app.domain.records.sent_battery import SentBattery


@dataclass(frozen=True)
class SentReport:
    """A battery's report for strangers, and that of each of its tests in order of their start."""

    report: SharedReport
    tests: tuple[SharedTest, ...]


def sent_report(sent: SentBattery) -> SentReport:
    """Compute every figure. Raises InvalidInput where the readings of a test are no discharge."""
    battery = Battery(1, sent.details, 1)
    meters = {one.meter.id: one.meter for one in sent.meters}
    analysed = []
    for one in sent.tests:
        details = one.test.details
        meter = meters.get(details.meter_id or 0)
        result = analyse_test(details, sent.details, None if meter is None else meter.details)
        analysed.append((one.test, result))
    events = tuple(one.event for one in sent.events)
    whole = _without_use(battery_report(battery, analysed, events, sent.as_of))
    tests = tuple(
        shared_test(
            discharge_report(
                test,
                battery,
                meters.get(test.details.meter_id or 0),
                result,
                first_measured(analysed, test),
            )
        )
        for test, result in analysed
    )
    used = tuple(one.meter.details for one in sent.meters)
    return SentReport(shared_report(whole, meters=used), tests)


def _without_use(whole: BatteryReport) -> BatteryReport:
    """Use and place are private: where they bear on the date, it can differ from the owner's."""
    text = say(
        "The end of life is worked out without the battery's use and place, which are not in the "
        "file: the owner's own page may show another."
    )
    end = whole.end_of_life
    without = Finding("without_use", text, minor=end.waits)
    caveats = tuple(without if one.code == "belief" else one for one in end.caveats)
    return replace(whole, end_of_life=replace(end, caveats=caveats))
