"""Everything a comparison shows, on its page, in its charts and as JSON, computed once."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison import Difference, around_move, difference, rate_of
from app.analysis.comparison.comparison_axis import Axis, LaidAxis, lay
from app.analysis.comparison.comparison_caveats import battery_caveats, move_caveats
from app.analysis.comparison.comparison_power import Record, further_after_move, further_to_show
from app.analysis.comparison.comparison_side import ComparedSide, side_of
from app.analysis.comparison.comparison_words import (
    answers,
    further_words,
    move_words,
    no_rate_words,
)
from app.analysis.comparison.overlaid_curves import LaidCurve
from app.analysis.fade.fade import fit_fade
from app.domain.finding import Finding
from app.domain.i18n.message import say


@dataclass(frozen=True)
class Compared:
    """A battery as it enters a comparison. test_interval_days is how often it is tested."""

    report: BatteryReport
    test_interval_days: float


@dataclass(frozen=True)
class ComparedPair:
    """Two sides against each other; difference is None where one of them has no rate.

    further is how many more tests of each would show a real difference of the chosen size, None
    where 40 would not or where one of them has no measured test.
    """

    first: str
    second: str
    difference: Difference | None
    words: str
    further: int | None
    further_words: str


@dataclass(frozen=True)
class ComparisonReport:
    """Two batteries or more beside one another, or one before and after a move.

    words is the answer, shown_points the difference (points of % of rated a year) that further
    tests are to show.
    """

    as_of: date
    title: str
    moved_on: date | None
    shown_points: float
    sides: tuple[ComparedSide, ...]
    pairs: tuple[ComparedPair, ...]
    words: tuple[str, ...]
    caveats: tuple[Finding, ...]
    axes: tuple[LaidAxis, ...]
    curves: tuple[LaidCurve, ...]


def day_of_move(moved_on: date) -> float:
    """The very end of the day, so that a test on it counts as before the move."""
    return moved_on.toordinal() + 1 - 1e-6


def compare_batteries(
    entered: Sequence[Compared],
    shown_points: float,
    axes: Sequence[Axis] = (),
    curves: Sequence[LaidCurve] = (),
) -> ComparisonReport:
    """Two batteries or more; the places of the axes are in their order."""
    reports = [one.report for one in entered]
    rates = [rate_of(one.name, one.points, one.rated_ah) for one in reports]
    records = [
        Record.of(one.report.points, one.report.rated_ah, one.test_interval_days) for one in entered
    ]
    sides = tuple(
        side_of(report, report.name, report.points, rate, _why_no_rate(report))
        for report, rate in zip(reports, rates, strict=True)
    )
    count = len(sides) * (len(sides) - 1) // 2
    pairs = []
    for i, j in combinations(range(len(sides)), 2):
        one, other = rates[i], rates[j]
        gap = None if one is None or other is None else difference(one, other, count)
        both = [record for k in (i, j) if (record := records[k]) is not None]
        pairs.append(_pair((sides[i], sides[j]), gap, both, shown_points, count))
    return ComparisonReport(
        as_of=reports[0].as_of,
        title=", ".join(side.name for side in sides),
        moved_on=None,
        shown_points=shown_points,
        sides=sides,
        pairs=tuple(pairs),
        words=answers([(pair.words, pair.further_words, pair.difference) for pair in pairs]),
        caveats=battery_caveats(reports, sides),
        axes=tuple(lay(axis, sides) for axis in axes),
        curves=tuple(curves),
    )


def compare_around_move(
    entered: Compared,
    moved_on: date,
    shown_points: float,
    axes: Sequence[Axis] = (),
    curves: Sequence[LaidCurve] = (),
) -> ComparisonReport:
    """One battery before and after a move; a test on the day of the move counts as before it.

    Raises ValueError where either side has too few tests (see enough_around).
    """
    report, move_day = entered.report, day_of_move(moved_on)
    gap = around_move(report.points, move_day, report.rated_ah)
    record = Record.of(report.points, report.rated_ah, entered.test_interval_days, move_day)
    if gap is None or record is None:
        raise ValueError("too few measured tests before or after the move")
    points = (
        [point for point in report.points if point.day <= move_day],
        [point for point in report.points if point.day > move_day],
    )
    early, late = (
        side_of(report, rate.name, own, rate, "")
        for rate, own in zip((gap.second, gap.first), points, strict=True)
    )
    further = further_after_move(record, move_day, shown_points)
    said = further_words([record], 1, further, shown_points)
    pair = ComparedPair(late.name, early.name, gap, move_words(gap), further, said)
    return ComparisonReport(
        as_of=report.as_of,
        title=say("{name} before and after {moved_on}", name=report.name, moved_on=moved_on),
        moved_on=moved_on,
        shown_points=shown_points,
        sides=(early, late),
        pairs=(pair,),
        words=(pair.words, pair.further_words),
        caveats=move_caveats(points, (early, late)),
        axes=tuple(lay(axis, (early, late), move_day) for axis in axes),
        curves=tuple(curves),
    )


def _pair(
    sides: tuple[ComparedSide, ComparedSide],
    gap: Difference | None,
    records: Sequence[Record],
    shown_points: float,
    pairs: int,
) -> ComparedPair:
    further = further_to_show(records, shown_points, pairs) if len(records) == 2 else None
    return ComparedPair(
        first=sides[0].name,
        second=sides[1].name,
        difference=gap,
        words=no_rate_words(sides) if gap is None else gap.words,
        further=further,
        further_words=further_words(records, 2, further, shown_points),
    )


def _why_no_rate(report: BatteryReport) -> str:
    """In the words that the battery's own page has for it; empty where there is a rate."""
    fade = fit_fade(report.points, report.rated_ah)
    return fade.words if fade.line is None else ""
