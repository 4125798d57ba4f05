"""What a read-only link shows: named field by field, so that nothing slips in."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from app.analysis.battery.answers import Answer, down_to, holds, loses, main_findings
from app.analysis.battery.battery_report import BatteryReport, TestSummary
from app.analysis.battery.newest_test_check import LateRate
from app.analysis.comparison.comparison_report import ComparisonReport
from app.analysis.corrections.reference_conditions import Correction
from app.analysis.fade.fade import Fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import EndOfLife
from app.analysis.reports.discharge_report import DischargeReport, Row
from app.analysis.reports.how_measured import HowLine, how_test_was_done, how_tests_were_done
from app.analysis.statistics.budget import Contribution
from app.domain.entities.meter import MeterDetails
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import say
from app.domain.share import SharePart

EVERYTHING = frozenset(SharePart)


@dataclass(frozen=True)
class SharedEvent:
    """An event without its note."""

    on_date: date
    kind: str

    @property
    def label(self) -> str:
        return self.kind


@dataclass(frozen=True)
class SharedReport:
    """A battery's report for strangers: no serial number, place, price or private note.

    A part that was not chosen is None or empty. tests has points for the chart where the fade is
    shown; lists says whether they stand in a table as well, with how each was done. how says it
    for all of them.
    """

    name: str
    chemistry: str
    nominal_v: float
    rated_ah: float
    reserve_share: float
    threshold_words: str
    as_of: date
    newest_words: str
    lists: bool
    tests: tuple[TestSummary, ...]
    points: tuple[TrendPoint, ...]
    fade: Fade | None
    end_of_life: EndOfLife | None
    watch_words: str
    watch_brief: str
    late: LateRate | None
    events: tuple[SharedEvent, ...]
    how: tuple[HowLine, ...] = ()

    @property
    def claim(self) -> str:
        """What the tests showed, in one sentence."""
        if self.fade is None:
            return self.newest_words
        measured = [
            test
            for test in self.tests
            if test.kind is EvidenceKind.MEASURED and not test.left_out_reason
        ]
        if len(measured) < 2:
            return self.newest_words
        first, last = measured[0], measured[-1]
        return say(
            "{count} measured tests from {start} to {end}: {first_ah:.1f} ± {first_doubt:.1f} Ah "
            "in the first, {last_ah:.1f} ± {last_doubt:.1f} Ah in the last.",
            count=len(measured),
            start=first.day,
            end=last.day,
            first_ah=first.capacity_ah,
            first_doubt=first.expanded_ah,
            last_ah=last.capacity_ah,
            last_doubt=last.expanded_ah,
        )

    @property
    def faster(self) -> bool:
        """Whether the newest tests fall faster than all of them on average."""
        return self.late is not None

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answers of the parts that are shown; when to test next is the owner's own."""
        made = []
        if self.fade is not None:
            made = [
                holds(self.tests, self.rated_ah, self.as_of, self.fade, faster=self.faster),
                loses(self.fade, self.late),
            ]
        if self.end_of_life is not None:
            made.append(down_to(self.end_of_life, self.rated_ah, self.as_of, own=False))
        return tuple(made)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What else must be known beside the answers."""
        return main_findings(self.fade, self.end_of_life)


@dataclass(frozen=True)
class SharedTest:
    """One test for strangers: no notes, no file name, no name of the meter."""

    started_at: datetime
    kind: EvidenceKind
    headline: str
    verdict_words: tuple[str, ...]
    reasons: tuple[Finding, ...]
    caveats: tuple[Finding, ...]
    charge_condition: str
    end_reason: str
    load: str
    capacity_ah: float
    lower_ah: float
    end_shift_ah: float
    end_note: str
    corrections: tuple[Correction, ...]
    delivered_ah: float
    delivered_wh: float | None
    duration_h: float | None
    mean_current_a: float | None
    temperature_c: float | None
    temperature_source: str
    standard_ah: float
    expanded_ah: float
    coverage_factor: float
    budget: tuple[Contribution, ...]
    rated_ah: float
    reserve_share: float
    expected_run_time_to_empty_h: float | None
    rows: tuple[Row, ...]
    rows_in_all: int
    only_result: bool
    how: tuple[HowLine, ...] = ()


@dataclass(frozen=True)
class SharedDifference:
    """Two rates against each other: points of % of rated a year, with what holds together 95 %.

    Numbers are None where one of the two has no rate yet.
    """

    first: str
    second: str
    points_per_year: float | None
    low: float | None
    high: float | None
    probability_first_faster: float | None


@dataclass(frozen=True)
class SharedComparison:
    """Batteries side by side, in words and numbers, without the days and ages of the tests."""

    words: tuple[str, ...]
    differences: tuple[SharedDifference, ...]
    caveats: tuple[Finding, ...]


@dataclass(frozen=True)
class SharedView:
    """All that one link shows: a battery, several side by side, or one test of a battery."""

    as_of: date
    batteries: tuple[SharedReport, ...]
    test: SharedTest | None
    comparison: SharedComparison | None = None


def shared_report(
    report: BatteryReport,
    shows: Collection[SharePart] = EVERYTHING,
    meters: Sequence[MeterDetails] = (),
) -> SharedReport:
    """Choose what strangers see of a battery, whose tests were made with these meters."""
    fade, lists = SharePart.FADE in shows, SharePart.TESTS in shows
    tests = report.tests if fade or lists else ()
    if not lists:
        tests = tuple(
            replace(test, load="", end_reason="", charge_condition="", left_out_reason="")
            for test in tests
            if not test.left_out_reason
        )
    events = report.events if SharePart.EVENTS in shows else ()
    return SharedReport(
        name=report.name,
        chemistry=report.chemistry,
        nominal_v=report.nominal_v,
        rated_ah=report.rated_ah,
        reserve_share=report.reserve_share,
        threshold_words=report.threshold_words,
        as_of=report.as_of,
        newest_words=report.newest_words,
        lists=lists,
        tests=tests,
        points=report.points if fade else (),
        fade=report.fade if fade else None,
        end_of_life=report.end_of_life if SharePart.END_OF_LIFE in shows else None,
        watch_words=report.watch.words if fade else "",
        watch_brief=report.watch.beside_answers if fade else "",
        late=report.watch.late if fade else None,
        events=tuple(SharedEvent(event.on_date, event.kind.label) for event in events),
        how=how_tests_were_done(report.tests, meters) if lists else (),
    )


def shared_comparison(report: ComparisonReport) -> SharedComparison:
    """Choose what strangers see of a comparison."""
    return SharedComparison(
        words=report.words,
        differences=tuple(
            SharedDifference(
                first=pair.first,
                second=pair.second,
                points_per_year=None if gap is None else gap.points_per_year,
                low=None if gap is None else gap.low,
                high=None if gap is None else gap.high,
                probability_first_faster=None if gap is None else gap.probability_faster,
            )
            for pair in report.pairs
            for gap in (pair.difference,)
        ),
        caveats=report.caveats,
    )


def bare_report(report: BatteryReport) -> SharedReport:
    """A battery named above one of its tests, and nothing else of it."""
    return replace(shared_report(report, ()), newest_words="")


def shared_test(report: DischargeReport) -> SharedTest:
    """Choose what strangers see of a test."""
    return SharedTest(
        started_at=report.started_at,
        kind=report.kind,
        headline=report.headline,
        verdict_words=tuple(verdict.words for verdict in report.verdicts),
        reasons=report.reasons,
        caveats=report.caveats,
        charge_condition=report.charge_condition,
        end_reason=report.end_reason,
        load=report.load,
        capacity_ah=report.capacity_ah,
        lower_ah=report.lower_ah,
        end_shift_ah=report.end_shift_ah,
        end_note=report.end_note,
        corrections=report.corrections,
        delivered_ah=report.delivered_ah,
        delivered_wh=report.delivered_wh,
        duration_h=report.duration_h,
        mean_current_a=report.mean_current_a,
        temperature_c=report.temperature_c,
        temperature_source=report.temperature_source,
        standard_ah=report.standard_ah,
        expanded_ah=report.expanded_ah,
        coverage_factor=report.coverage_factor,
        budget=report.budget,
        rated_ah=report.rated_ah,
        reserve_share=report.reserve_share,
        expected_run_time_to_empty_h=report.expected_run_time_to_empty_h,
        rows=report.rows,
        rows_in_all=report.rows_in_all,
        only_result=report.only_result,
        how=how_test_was_done(report),
    )
