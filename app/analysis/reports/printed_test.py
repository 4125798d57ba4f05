"""One test as its printed report shows it: the page's own numbers, and how they came about."""

from dataclasses import dataclass, replace
from datetime import date

from app.analysis.evidence.promised_capacity import LevelShown, hold_against, threshold_level
from app.analysis.evidence.result import Result
from app.analysis.evidence.verdict import EarlierTest
from app.analysis.reports.deviation import Deviation, deviations, uncorrected
from app.analysis.reports.discharge_report import DischargeReport, Row, discharge_report, evenly
from app.analysis.reports.procedure import Procedure, procedure_of
from app.analysis.reports.report_fingerprint import report_number
from app.analysis.warranty.warranty_level import warranty_level
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.meter import Meter, MeterDetails
from app.domain.finding import Finding

# Two sheets of paper: more shows nothing that the chart does not.
ROWS_PRINTED = 100


@dataclass(frozen=True)
class PrintedTest:
    """Everything that the printed report of one test can show; the owner chooses what it does.

    number follows from the data and the method, so that two prints of the same carry the same.
    rows are those of the report, thinned once more for paper. claims hold the result against
    levels that somebody counts on.
    """

    number: str
    issued_on: date
    battery: BatteryDetails
    details: DischargeDetails
    meter: MeterDetails | None
    report: DischargeReport
    procedure: Procedure
    deviations: tuple[Deviation, ...]
    claims: tuple[LevelShown, ...]
    warranty_words: str
    rows: tuple[Row, ...]
    method_version: int

    @property
    def remarks(self) -> tuple[Finding, ...]:
        """The caveats, without those that the table of corrections says already."""
        said = {correction.words for correction in self.report.corrections}
        return tuple(one for one in self.report.caveats if one.text not in said)

    @property
    def all_rows(self) -> bool:
        return len(self.rows) == self.report.rows_in_all

    @property
    def shows_voltage(self) -> bool:
        return any(row.voltage_v is not None for row in self.rows)

    @property
    def shows_temperature(self) -> bool:
        return any(row.temperature_c is not None for row in self.rows)

    @property
    def shows_gauge(self) -> bool:
        return any(row.gauge_percent is not None for row in self.rows)


def printed_test(
    test: Discharge,
    battery: Battery,
    meter: Meter | None,
    result: Result,
    first: EarlierTest | None,
    issued_on: date,
) -> PrintedTest:
    """Build the report; first is the battery's first measured test, if another."""
    about, details = battery.details, test.details
    report = discharge_report(test, battery, meter, result, first)
    procedure = procedure_of(details, about, result)
    found = deviations(about, details.charge_condition, procedure, result)
    warranty = warranty_level(about.warranty, about.rated_ah, details.started_local.date())
    levels = (threshold_level(about.threshold, first), warranty.level)
    return PrintedTest(
        number=report_number(
            "test",
            result.method_version,
            identity_of_battery(battery),
            identity_of_test(test, meter),
            first,
        ),
        issued_on=issued_on,
        battery=about,
        details=details,
        meter=None if meter is None else meter.details,
        report=report,
        procedure=procedure,
        deviations=found,
        claims=tuple(
            hold_against(level, result, uncorrected(found)) for level in levels if level is not None
        ),
        warranty_words=warranty.words,
        rows=tuple(report.rows[at] for at in evenly(len(report.rows), ROWS_PRINTED)),
        method_version=result.method_version,
    )


def identity_of_battery(battery: Battery) -> BatteryDetails:
    """What makes a battery's report another one. What it cost and how it is used bear on none."""
    return replace(
        battery.details,
        price=None,
        currency="",
        drawn_ah_a_week=None,
        full_discharges_a_year=None,
        waits_at_low_share=0.0,
        waits_at_high_share=1.0,
        charge_ah_a_day=None,
        cold_week_c=None,
        appliances=(),
    )


def identity_of_test(
    test: Discharge, meter: Meter | None
) -> tuple[DischargeDetails, MeterDetails | None]:
    """What makes a test another one: all that was entered, with its meter instead of a number."""
    return replace(test.details, meter_id=None), None if meter is None else meter.details
