"""What the form of a test offers as large choices; where it matters, with what each can prove."""

from dataclasses import dataclass

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.web.forms.entry_way import Way

# What happened, as its owner would tell it; on other pages it is part of a sentence.
_CHARGES = {
    ChargeCondition.FULL_RESTED: N_("Full, then rested an hour"),
    ChargeCondition.FULL: N_("Full, not rested"),
    ChargeCondition.NOT_FULL: N_("Not full"),
    ChargeCondition.UNKNOWN: N_("Not known"),
}
_ENDS = {
    EndReason.PROTECTION: N_("The battery switched itself off"),
    EndReason.CUT_OFF_VOLTAGE: N_("Voltage fell to the cut-off"),
    EndReason.GAUGE_RESERVE: N_("I stopped at a gauge percentage"),
    EndReason.TIME: N_("Time ran out"),
    EndReason.LOAD: N_("The load gave up"),
    EndReason.UNKNOWN: N_("Not known"),
}


@dataclass(frozen=True)
class Choice:
    """One of a few that exclude each other; proves may be empty."""

    value: str
    label: str
    proves: str = ""


def way_choices() -> tuple[Choice, ...]:
    return tuple(Choice(one.value, one.label) for one in Way)


def charge_choices() -> tuple[Choice, ...]:
    """Only a battery that was full at the start can show its capacity."""
    least = say("lower bound only")
    return tuple(
        Choice(one.value, say(_CHARGES[one]), "" if one.full else least) for one in ChargeCondition
    )


def end_choices() -> tuple[Choice, ...]:
    """Only one that was empty at the end can: the owner is told so before choosing."""
    most, least = say("can measure capacity"), say("lower bound only")
    return tuple(
        Choice(one.value, say(_ENDS[one]), most if one.claims_empty else least) for one in EndReason
    )
