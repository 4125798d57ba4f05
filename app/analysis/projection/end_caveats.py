"""What must be said beside a projected end of life."""

from collections.abc import Sequence
from enum import Enum, auto

from app.analysis.fade.contradiction import contradiction
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.life_belief import UseAndClimate
from app.analysis.projection.projection import Projection, ProjectionOutcome
from app.domain.chemistry import Chemistry
from app.domain.finding import Finding
from app.domain.i18n.message import say, say_plural

# A new battery holds its label within this share (common practice; published cells of one make
# scatter by 0.2 %, makers deliver a few per cent more or less than they print).
LABEL_DOUBT = 0.04
# The tests contradict each other, and nothing says which of them to believe.
WAITS_CODE = "contradict"


class Start(Enum):
    """What the projection counts from: the first test, or the day the battery went into service
    with what its label says, or with what its first tests show where that is more."""

    FIRST_TEST = auto()
    LABEL = auto()
    ABOVE_LABEL = auto()


def contradiction_caveats(points: Sequence[TrendPoint]) -> tuple[Finding, ...]:
    """Tests that cannot all be right, because no battery gains capacity."""
    found = contradiction(points)
    if found is not None and found.undecided:
        text = say(
            "The tests contradict each other: the capacity seems to rise, which no battery does. "
            "Compare how they were done; the date waits for another test."
        )
        return (Finding(WAITS_CODE, text),)
    if found is None:
        return ()
    text = say_plural(
        "One test contradicts the others, since no battery gains so much: look at how it was done.",
        "{count} tests contradict the others, since no battery gains so much: look at how they "
        "were done.",
        len(found.odd),
    )
    ids = tuple(p.discharge_id for p in found.odd if p.discharge_id is not None)
    return (Finding("contradicts_others", text, discharge_ids=ids),)


def end_caveats(
    found: Projection, chemistry: Chemistry, start: Start, lives: UseAndClimate
) -> tuple[Finding, ...]:
    """How much the tests said, what the belief rests on, and what the cells are."""
    caveats = []
    if found.outcome is ProjectionOutcome.NOT_YET_KNOWN:
        return ()
    if found.mostly_prior:
        text = say("The tests say little so far: the date is close to that of any such battery.")
        caveats.append(Finding("mostly_prior", text))
    if chemistry is not Chemistry.LFP:
        text = say(
            "The starting assumption about its life rests on published evidence for lithium iron "
            "phosphate; for {chemistry} it is our guess.",
            chemistry=chemistry.label,
        )
        caveats.append(
            Finding("prior_uncalibrated", text, minor=chemistry is Chemistry.LITHIUM_ION)
        )
    else:
        caveats.append(Finding("belief", _belief_words(lives), minor=True))
    caveats.append(Finding("laboratory", _start_words(start), minor=True))
    return tuple(caveats)


def _start_words(start: Start) -> str:
    """From when the projection counts, and from how much."""
    percent = LABEL_DOUBT * 100
    if start is Start.LABEL:
        return say(
            "Fadeline compares it with published cells that aged in laboratories, counting from "
            "the day it went into service, and assumes that it then held the rated capacity "
            "within {percent:.0f} %.",
            percent=percent,
        )
    if start is Start.ABOVE_LABEL:
        return say(
            "Fadeline compares it with published cells that aged in laboratories, counting from "
            "the day it went into service. Its first tests show more than its label says, and no "
            "battery gains capacity: Fadeline assumes that it then held as much as they show, "
            "within {percent:.0f} %.",
            percent=percent,
        )
    return say(
        "Fadeline compares it with published cells that aged in laboratories, counting from the "
        "first test; a battery that was half worn at its first test would wear out sooner."
    )


def _belief_words(lives: UseAndClimate) -> str:
    """What is taken into account; without figures, which would tell the use on a shared page."""
    if lives.full_cycles_a_year is not None and lives.pace is not None:
        return say("The projection takes into account how the battery is used and where it lives.")
    if lives.pace is not None:
        return say(
            "The projection takes into account where the battery lives; its use is not known."
        )
    if lives.full_cycles_a_year is not None:
        return say(
            "The projection takes into account how the battery is used; where it lives is not "
            "known."
        )
    return say(
        "How the battery is used and where it lives is not known; once its owner enters both, "
        "Fadeline takes them into account."
    )
