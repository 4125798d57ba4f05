"""The four answers that a battery's page begins with: a large figure each, its doubt below it.

“Very likely” is 95 % in all of them: of the interval of a capacity and of a rate, and of each end
of a projected date by itself, so that both ends hold with 90 %. The rate after a bend holds less.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from app.analysis.battery.newest_test_check import LateRate
from app.analysis.battery.next_test import NextTest
from app.analysis.evidence.verdict import likelihood
from app.analysis.fade.fade import Fade
from app.analysis.projection.end_of_life import EndOfLife, coarse_date
from app.analysis.projection.linear_extrapolation import HORIZON_YEARS
from app.analysis.projection.projection import ProjectionOutcome
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say, written_day
from app.domain.threshold import Threshold, ThresholdKind
from app.domain.units.rounding import rounded_down

# A result as old as this is no longer what the battery holds “now” (our own choice).
STILL_NOW_DAYS = 183
# Within this time of today a month says no more than is known.
MONTHS_WITHIN_DAYS = 400
# All tests together are told beside the newest where they differ by more than this share of the
# rated capacity (our own choice): less than that nobody sees in the picture.
TOLD_APART_SHARE = 0.03
_DUE_FOR = {
    "owner": N_("by your interval"),
    "rule": N_("published practice"),
    "decision": N_("near its limit"),
    "visible": N_("the fade can show"),
    "warranty": N_("for the warranty"),
}


@dataclass(frozen=True)
class Answer:
    """A large figure with its label; doubt and note stand below it. now asks for action."""

    label: str
    figure: str
    doubt: str
    note: str = ""
    now: bool = False


class AnsweringTest(Protocol):
    """What of a test is needed to say what the battery holds."""

    @property
    def kind(self) -> EvidenceKind: ...
    @property
    def capacity_ah(self) -> float: ...
    @property
    def expanded_ah(self) -> float: ...
    @property
    def lower_ah(self) -> float: ...
    @property
    def left_out_reason(self) -> str: ...
    @property
    def day(self) -> date: ...


def holds(
    tests: Sequence[AnsweringTest],
    rated_ah: float,
    as_of: date,
    fade: Fade | None = None,
    *,
    faster: bool = False,
) -> Answer:
    """The newest measured capacity, or the newest lower bound where that proves more.

    tests stand in the order of time; what was left out or proves nothing does not count. Where
    the line through all tests says something else and knows it better, it stands with it.
    """
    counting = [t for t in tests if not t.left_out_reason and t.kind is not EvidenceKind.UNUSABLE]
    measured = [t for t in counting if t.kind is EvidenceKind.MEASURED]
    if not counting:
        doubt = say("the label promises {rated_ah:g} Ah", rated_ah=rated_ah)
        note = say("No test counts so far.") if tests else ""
        return Answer(say("Holds now"), _unknown(), doubt, note)
    newest = counting[-1]
    if measured and (newest is measured[-1] or newest.lower_ah <= measured[-1].capacity_ah):
        shown = measured[-1]
        figure = say("{ah:.1f} Ah", ah=shown.capacity_ah)
        doubt = _very_likely(shown.capacity_ah, shown.expanded_ah)
        note = say(
            "tested {day}: {percent:.0f} %",
            percent=100 * shown.capacity_ah / rated_ah,
            day=written_day(shown.day),
        )
        together = None if faster else _together(shown, rated_ah, fade)
        if together is not None:
            return Answer(say("Newest test"), figure, doubt, joined(". ", (note, together)))
    else:
        shown = newest
        low = rounded_down(shown.lower_ah)
        figure = say("at least {ah:.1f} Ah", ah=low)
        doubt = say("the test cannot say how much more")
        note = say("test of {day}", day=written_day(shown.day))
    fresh = (as_of - shown.day).days <= STILL_NOW_DAYS
    return Answer(say("Holds now") if fresh else say("Last known capacity"), figure, doubt, note)


def _together(shown: AnsweringTest, rated_ah: float, fade: Fade | None) -> str | None:
    """What all tests together say of the day of the newest one, where both can be true."""
    if fade is None or fade.line is None or fade.rises:
        return None
    since = fade.last_day - fade.first_day
    line_ah = fade.line.at(since)
    half = fade.line.factor(fade.level) * fade.line.se_at(since)
    apart = abs(shown.capacity_ah - line_ah)
    # Beyond its own doubt the newest test is unusual, and a line does not speak for it.
    if not TOLD_APART_SHARE * rated_ah < apart <= shown.expanded_ah or half >= shown.expanded_ah:
        return None
    return say(
        "All tests together: {ah:.1f} Ah that day, very likely {low:.1f} to {high:.1f}",
        ah=line_ah,
        low=line_ah - half,
        high=line_ah + half,
    )


def loses(fade: Fade, late: LateRate | None = None) -> Answer:
    """The rate in Ah a year over all measured tests, with its 95 % interval.

    Where the newest tests fall faster, late is their rate: it is today's, the average stands below.
    """
    label = say("Loses")
    rate, low, high = fade.rate_percent_per_year, fade.low, fade.high
    if rate is None or low is None or high is None or fade.reference_ah is None:
        return Answer(label, _unknown(), fade.caveats[0].text)
    ah = fade.reference_ah / 100
    first = date.fromordinal(int(fade.first_day))
    if late is not None:
        figure = say("{ah:.1f} Ah a year", ah=late.ah_a_year)
        note = say("average since {day:%b %Y}: {ah:.1f}", day=first, ah=_no_minus_zero(rate * ah))
        doubt = say("9 in 10: {low:.1f} to {high:.1f}", low=late.low, high=late.high)
        return Answer(say("Loses lately"), figure, doubt, note)
    since = say("average since {day:%b %Y}", day=first)
    if not fade.significant:
        doubt = say(
            "{rate:.1f} Ah a year; very likely {low:.1f} to {high:.1f}",
            rate=_no_minus_zero(rate * ah),
            low=_no_minus_zero(low * ah),
            high=_no_minus_zero(high * ah),
        )
        return Answer(label, say("no loss proven"), doubt, since)
    half = (high - low) / 2 * ah
    figure = say("{ah:.1f} Ah a year", ah=abs(rate) * ah)
    label = say("Seems to gain") if rate < 0 else label
    return Answer(label, figure, _very_likely(abs(rate) * ah, half), since)


def down_to(end: EndOfLife, rated_ah: float, as_of: date, *, own: bool = True) -> Answer:
    """When the capacity falls below the threshold; the figure is the middle.

    own says that the reader set the threshold, which stands above the answers then; a stranger
    reads whose it is, and what.
    """
    label = say("Down to your limit") if own else say("Down to the owner’s limit")
    figure, doubt = _when(end, as_of)
    below = end.outcome is ProjectionOutcome.ALREADY_BELOW and not end.waits
    return Answer(label, figure, doubt, "" if own else limit_words(end, rated_ah), now=below)


def _when(end: EndOfLife, as_of: date) -> tuple[str, str]:
    """The date as a large figure, and its doubt."""
    known = end.chance_above_today
    if end.outcome is ProjectionOutcome.NOT_YET_KNOWN or known is None:
        return _unknown(), say("This needs a measured capacity.")
    if end.waits:
        return say("waits for a test"), say("the tests contradict each other")
    if end.outcome is ProjectionOutcome.ALREADY_BELOW:
        return say("probably already"), say(
            "below it today: {likely}", likely=likelihood(1 - known)
        )
    if end.p05 is None:
        figure = say("in over {years:.0f} years", years=HORIZON_YEARS)
        return figure, say("very likely; counted from the first test")
    if end.p05 <= as_of:
        return _when_perhaps_passed(end, likelihood(1 - known), as_of)
    soon = (end.p05.year, end.p05.month) == (as_of.year, as_of.month)
    start = say("this month") if soon else _shown(end.p05, as_of)
    if end.p50 is None:
        figure = say("not before {start}", start=start)
        return figure, say("very likely; how much later is not known")
    if end.p95 is None:
        doubt = say("very likely not before {start}; latest not known", start=start)
    else:
        latest = _shown(end.p95, as_of)
        doubt = say("very likely not before {start}, nor after {end}", start=start, end=latest)
    return coarse_date(end.p50), doubt


def _when_perhaps_passed(end: EndOfLife, below: str, as_of: date) -> tuple[str, str]:
    """As above, once the day before which it very likely did not fall so low has passed."""
    if end.p50 is None:
        return _unknown(), say("below it today: {likely}", likely=below)
    if end.p95 is None:
        doubt = say("below it today: {likely}; latest not known", likely=below)
    else:
        doubt = say(
            "below it today: {likely}; very likely not after {end}",
            likely=below,
            end=_shown(end.p95, as_of),
        )
    return coarse_date(end.p50), doubt


def limit_words(end: EndOfLife, rated_ah: float) -> str:
    """The threshold, amp-hours first where they are known."""
    threshold: Threshold = end.threshold
    if threshold.kind is ThresholdKind.RATED and threshold.ah is not None:
        percent = 100 * threshold.ah / rated_ah
        return say("{ah:.4g} Ah ({percent:.0f} %)", ah=threshold.ah, percent=percent)
    if threshold.ah is None and end.threshold_ah is not None:
        return say("{ah:.0f} Ah, {words}", ah=end.threshold_ah, words=threshold.words)
    return threshold.words


def next_due(next_test: NextTest, as_of: date, running: bool = False) -> Answer:
    """When to test next, and what for."""
    label = say("Next test")
    if running:
        return Answer(label, say("running"), "", now=True)
    if next_test.due is None:
        return Answer(label, say("due now"), say("the first one"), now=True)
    why = say(_DUE_FOR[next_test.reasons[0].code])
    if next_test.due <= as_of:
        since = say("since {day}", day=written_day(next_test.due))
        return Answer(label, say("due now"), since, why, now=True)
    return Answer(label, written_day(next_test.due), why)


def _shown(day: date, as_of: date) -> str:
    """A month where the day is near, else a third of a year."""
    if abs((day - as_of).days) <= MONTHS_WITHIN_DAYS:
        return say("{day:%b %Y}", day=day)
    return coarse_date(day)


def _very_likely(middle: float, half: float) -> str:
    """From where to where, in Ah."""
    return say("very likely {low:.1f} to {high:.1f}", low=middle - half, high=middle + half)


def _unknown() -> str:
    return say("not known")


def _no_minus_zero(value: float) -> float:
    return 0.0 if abs(value) < 0.05 else value


def main_findings(fade: Fade | None, end: EndOfLife | None) -> tuple[Finding, ...]:
    """What else has to be said beside the answers; what is minor stands with the reasons."""
    # Without a line the first caveat is the answer itself.
    of_fade = fade.caveats if fade is not None and fade.line is not None else ()
    contradict = end is not None and end.waits
    if not contradict and fade is not None and fade.rises:
        text = say(
            "The capacity seems to rise, which no battery does: compare how the tests were done "
            "before you rely on any of this."
        )
        of_fade = (Finding("rising", text), *of_fade)
    of_end = () if end is None else end.caveats
    found = (*of_end, *of_fade) if contradict else (*of_fade, *of_end)
    return tuple(one for one in found if not one.minor)
