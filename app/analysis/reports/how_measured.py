"""How a battery was measured, in three lines for a stranger who doubts the result."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.analysis.battery.battery_report import TestSummary
from app.analysis.reports.discharge_report import DischargeReport
from app.domain.entities.meter import MeterDetails
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import CelsiusRange, joined, say, say_plural, written_celsius


@dataclass(frozen=True)
class HowLine:
    """One line: what it is about, and what was done."""

    label: str
    words: str


def how_tests_were_done(
    tests: Sequence[TestSummary], meters: Sequence[MeterDetails]
) -> tuple[HowLine, ...]:
    """The lines for all tests of a battery; none where it has no test."""
    counted = [test for test in tests if not test.left_out_reason]
    if not counted:
        return ()
    named = dict.fromkeys(meter.limits_words for meter in meters)
    said = joined("; ", named) if named else say("not known")
    return (
        HowLine(say("Meter"), said),
        HowLine(say("Charge and end"), _from_full(counted)),
        HowLine(say("Conditions"), _conditions(counted)),
    )


def how_test_was_done(report: DischargeReport) -> tuple[HowLine, ...]:
    """The lines for one test."""
    ends = say(
        "{charge}; ended because {end}", charge=report.charge_condition, end=report.end_reason
    )
    current, hours, load = report.mean_current_a, report.duration_h, report.load
    said = [load] if load else []
    if current is not None and hours is not None:
        said.append(say("{amps:.1f} A for {hours:.1f} h", amps=current, hours=hours))
    if report.temperature_c is not None:
        said.append(written_celsius(report.temperature_c, ".0f"))
    applied = tuple(one.label for one in report.corrections if one.applied and one.factor != 1)
    return (
        HowLine(say("Meter"), report.meter_limits or say("not known")),
        HowLine(say("Charge and end"), ends),
        HowLine(say("Conditions"), _with_corrections(said, applied)),
    )


def _from_full(tests: Sequence[TestSummary]) -> str:
    """How many tests went all the way, and what the others prove."""
    measured = sum(1 for test in tests if test.kind is EvidenceKind.MEASURED)
    bounds = sum(1 for test in tests if test.kind is EvidenceKind.AT_LEAST)
    said = []
    if measured:
        said.append(
            say_plural(
                "1 test began full and ended with the battery empty",
                "{count} tests began full and ended with the battery empty",
                measured,
            )
        )
    if bounds:
        said.append(
            say_plural(
                "1 test did not: it proves “at least”",
                "{count} tests did not: they prove “at least”",
                bounds,
            )
        )
    return joined("; ", said) if said else say("no test has a result")


def _conditions(tests: Sequence[TestSummary]) -> str:
    said = []
    amps = [test.mean_current_a for test in tests if test.mean_current_a is not None]
    if amps:
        low, high = min(amps), max(amps)
        same = f"{low:.0f}" == f"{high:.0f}"
        said.append(
            say("{amps:.0f} A", amps=low)
            if same
            else say("{low:.0f} to {high:.0f} A", low=low, high=high)
        )
    warmth = [test.temperature_c for test in tests if test.temperature_c is not None]
    if warmth:
        low, high = min(warmth), max(warmth)
        same = f"{low:.0f}" == f"{high:.0f}"
        at = written_celsius(low, ".0f")
        said.append(at if same else say("{range:.0f}", range=CelsiusRange(low, high)))
    names = dict.fromkeys(name for test in tests for name in test.corrected)
    return _with_corrections(said, tuple(names))


def _with_corrections(said: list[str], names: tuple[str, ...]) -> str:
    corrected = say("nothing corrected")
    if len(names) == 1:
        corrected = say("corrected for {name}", name=names[0])
    elif names:
        corrected = say("corrected for {name} and {other}", name=names[0], other=names[1])
    return joined("; ", (*([joined(", ", said)] if said else []), corrected))
