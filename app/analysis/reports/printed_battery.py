"""A battery as its printed report shows it: all tests, the trend, and its newest test in full."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from app.analysis.battery.battery_report import BatteryReport, battery_report
from app.analysis.evidence.result import METHOD_VERSION, Result
from app.analysis.projection.life_belief import UNKNOWN, UseAndClimate
from app.analysis.reports.discharge_report import first_measured
from app.analysis.reports.printed_test import (
    PrintedTest,
    identity_of_battery,
    identity_of_test,
    printed_test,
)
from app.analysis.reports.report_fingerprint import report_number
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.entities.discharge import Discharge
from app.domain.entities.event import Event
from app.domain.entities.meter import Meter, MeterDetails
from app.domain.finding import EvidenceKind


@dataclass(frozen=True)
class MeterUsed:
    """A meter with the number of tests that were made with it."""

    meter: MeterDetails
    tests: int


@dataclass(frozen=True)
class PrintedBattery:
    """Everything that the printed report of a battery can show.

    each holds the tests in their order, newest the one that the levels are held against: the
    newest measured test that counts, else the newest lower bound.
    """

    number: str
    issued_on: date
    battery: BatteryDetails
    report: BatteryReport
    meters: tuple[MeterUsed, ...]
    unnamed_meters: int
    newest: PrintedTest | None
    each: tuple[PrintedTest, ...]
    method_version: int = METHOD_VERSION

    @property
    def newest_is_odd(self) -> bool:
        """Whether the levels are held against a test that lies far from the rest."""
        newest = self.newest
        return newest is not None and newest.report.id in self.report.fade.odd_discharge_ids


def printed_battery(
    battery: Battery,
    tests: Sequence[tuple[Discharge, Result]],
    meters: Mapping[int, Meter],
    events: Sequence[Event],
    issued_on: date,
    lives: UseAndClimate = UNKNOWN,
) -> PrintedBattery:
    """Build the report from the stored tests and their results, in any order."""
    in_order = sorted(tests, key=lambda pair: pair[0].details.started_at)
    each = tuple(
        printed_test(
            test,
            battery,
            _meter(test, meters),
            result,
            first_measured(in_order, test),
            issued_on,
        )
        for test, result in in_order
    )
    used = [_meter(test, meters) for test, _ in in_order]
    return PrintedBattery(
        number=_number(battery, in_order, used, events, lives),
        issued_on=issued_on,
        battery=battery.details,
        report=battery_report(battery, tests, events, issued_on, lives),
        meters=tuple(
            MeterUsed(meters[meter_id].details, sum(1 for m in used if m and m.id == meter_id))
            for meter_id in dict.fromkeys(m.id for m in used if m is not None)
        ),
        unnamed_meters=used.count(None),
        newest=_newest(each),
        each=each,
    )


def _meter(test: Discharge, meters: Mapping[int, Meter]) -> Meter | None:
    return meters.get(test.details.meter_id or 0)


def _newest(each: Sequence[PrintedTest]) -> PrintedTest | None:
    counting = [one for one in each if not one.details.left_out_reason]
    for kind in (EvidenceKind.MEASURED, EvidenceKind.AT_LEAST):
        for one in reversed(counting):
            if one.report.kind is kind:
                return one
    return None


def _number(
    battery: Battery,
    in_order: Sequence[tuple[Discharge, Result]],
    used: Sequence[Meter | None],
    events: Sequence[Event],
    lives: UseAndClimate,
) -> str:
    """Which tests share a meter bears on the fade, so the order of the meters' first use counts."""
    order = list(dict.fromkeys(meter.id for meter in used if meter is not None))
    return report_number(
        "battery",
        METHOD_VERSION,
        identity_of_battery(battery),
        tuple(
            (identity_of_test(test, meter), -1 if meter is None else order.index(meter.id))
            for (test, _), meter in zip(in_order, used, strict=True)
        ),
        tuple(sorted((event.on_date, event.kind.value, event.note) for event in events)),
        lives,
    )
