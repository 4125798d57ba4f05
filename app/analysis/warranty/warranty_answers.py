"""The figures that the page of the warranty begins with, each with its doubt."""

from app.analysis.battery.answers import Answer
from app.analysis.evidence.verdict import likelihood
from app.analysis.warranty.cost_per_kwh import CostPerKwh
from app.analysis.warranty.warranty_claim import ClaimState
from app.analysis.warranty.warranty_report import WarrantyReport
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say, written_day
from app.domain.units.rounding import rounded_down

_CARRIED = {
    ClaimState.NO_TERMS: N_("no terms yet"),
    ClaimState.NO_TEST: N_("no evidence yet"),
    ClaimState.BOUND_ONLY: N_("no evidence yet"),
    ClaimState.REFUTED: N_("no"),
    ClaimState.AGAINST: N_("no"),
    ClaimState.FLATTERED: N_("not shown"),
    ClaimState.OPEN: N_("not yet"),
    ClaimState.OBJECTIONS: N_("not safely"),
    ClaimState.CARRIED: N_("yes"),
}


def warranty_answers(report: WarrantyReport) -> tuple[Answer, ...]:
    """Whether a claim is carried, what the battery holds, until when it runs, what it costs."""
    return tuple(
        one
        for one in (_claim(report), _newest(report), _runs(report), _cost(report.worth))
        if one is not None
    )


def _claim(report: WarrantyReport) -> Answer:
    claim = report.claim
    label, figure = say("Supports a claim"), say(_CARRIED[claim.state])
    if claim.promised_ah is None:
        return Answer(label, figure, say("no promised capacity entered"))
    if claim.probability_below is None:
        return Answer(label, figure, say("{ah:.0f} Ah are promised", ah=claim.promised_ah))
    doubt = say(
        "{likelihood} below the promised {ah:.0f} Ah",
        likelihood=likelihood(claim.probability_below),
        ah=claim.promised_ah,
    )
    carried = claim.state is ClaimState.CARRIED
    return Answer(label, figure, doubt, now=carried and not report.ended)


def _newest(report: WarrantyReport) -> Answer | None:
    """The test that decides; None where none does."""
    claim = report.claim
    if claim.tested_on is None:
        return None
    label = say("Test of {day}", day=written_day(claim.tested_on))
    if claim.capacity_ah is None or claim.expanded_ah is None:
        if claim.held_ah is None:
            return None
        figure = say("at least {ah:.0f} Ah", ah=rounded_down(claim.held_ah, 0))
        return Answer(label, figure, say("the test cannot say how much more"))
    doubt = say("± {ah:.1f} Ah, very likely", ah=claim.expanded_ah)
    return Answer(label, say("{ah:.1f} Ah", ah=claim.capacity_ah), doubt)


def _runs(report: WarrantyReport) -> Answer | None:
    """Until when, and from when on a test is due for it."""
    end, start = report.ends_on, report.last_quarter_from
    if end is None or start is None:
        if report.claim.state is ClaimState.NO_TERMS and report.cycles is None:
            return None
        reached = report.worth.cycles_reached_on
        if reached is None:
            return Answer(say("Warranty ends"), say("not known"), say("no start or term given"))
        doubt = say("by its cycles and your estimate of the use")
        return Answer(say("Warranty ends"), say("about {day:%b %Y}", day=reached), doubt)
    if report.ended:
        return Answer(say("Warranty ended"), written_day(end), say("a test now comes too late"))
    if start <= report.as_of:
        return Answer(say("Warranty ends"), written_day(end), say("test now"), now=True)
    doubt = say("test from {day} on", day=written_day(start))
    return Answer(say("Warranty ends"), written_day(end), doubt)


def _cost(worth: CostPerKwh) -> Answer | None:
    """So far; low is never known, since nobody measured what was drawn."""
    if worth.price is None:
        return None
    label, so_far = say("Cost so far"), worth.so_far
    if so_far is None or so_far.middle is None:
        # The price over the little that the tests drew would be no cost of use.
        return Answer(label, say("not known"), say("it is not known how much was drawn"))
    figure = say("{middle:.2f} {currency} a kWh", middle=so_far.middle, currency=worth.currency)
    estimate = say("by your estimate of the use")
    if so_far.high is None:
        return Answer(label, figure, estimate)
    doubt = say(
        "very likely at most {most:.2f} {currency} a kWh", most=so_far.high, currency=worth.currency
    )
    return Answer(label, figure, doubt, estimate)
