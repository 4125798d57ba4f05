"""Why a test whose load went to and fro between the readings proves less than was counted."""

from app.analysis.counting.delivered import Delivered
from app.analysis.counting.sampling import turns_to_and_fro
from app.analysis.statistics.budget import Budget
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import say
from app.domain.units.rounding import rounded_down

# A doubt of less than this share of the result needs no reason beside it (our own choice).
NOTABLE_SHARE = 0.03


def swinging_load(
    delivered: Delivered, kind: EvidenceKind, capacity_ah: float, budget: Budget
) -> tuple[Finding, ...]:
    """The reason beside the result, where the swinging load is the largest part of its doubt."""
    if kind is EvidenceKind.UNUSABLE or not turns_to_and_fro(delivered.current_a):
        return ()
    if budget.largest.code != "sampling" or budget.expanded_ah < NOTABLE_SHARE * capacity_ah:
        return ()
    if kind is EvidenceKind.AT_LEAST:
        words = say(
            "The test counted {counted_ah:.1f} Ah, but the load swung between the readings, as a "
            "fridge does: only {lower_ah:.1f} Ah are proven.",
            counted_ah=delivered.charge_ah,
            lower_ah=rounded_down(max(0.0, capacity_ah - budget.expanded_ah)),
        )
    else:
        words = say(
            "The load swung between the readings, as a fridge does: the main reason for the "
            "± {doubt_ah:.1f} Ah.",
            doubt_ah=budget.expanded_ah,
        )
    return (Finding("swinging_load", words),)
