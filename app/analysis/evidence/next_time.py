"""What to do otherwise in the next test, so that it proves more."""

from app.analysis.evidence.conditions import DischargeConditions
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import say


def second_meter() -> tuple[Finding, ...]:
    """What helps where the numbers themselves are in doubt."""
    return (
        Finding(
            "second_meter",
            say("Next time, check one of the currents with a second meter, and note its unit."),
        ),
    )


def note_more() -> tuple[Finding, ...]:
    """What makes more of a test than its result alone."""
    return (
        Finding(
            "note_readings",
            say(
                "Next time, note volts, amps and temperature at the start, every hour and at the "
                "end: then the doubt is smaller, and anybody can check it."
            ),
        ),
    )


def advice_after(
    kind: EvidenceKind, empty: bool, about: DischargeConditions
) -> tuple[Finding, ...]:
    """What would have made it a measurement."""
    advice = []
    if kind is EvidenceKind.MEASURED:
        return ()
    if kind is EvidenceKind.UNUSABLE:
        advice.append(Finding("look_more", say("Next time, read the meter at least every hour.")))
    if not empty:
        advice.append(
            Finding(
                "run_to_cut_off",
                say(
                    "Next time, let the same steady load run until the battery's own protection "
                    "switches it off, whatever the gauge says, and note that moment and the last "
                    "voltage. Stay with it, and never bypass the protection."
                ),
            )
        )
    if not about.charge_condition.full:
        advice.append(
            Finding(
                "charge_full",
                say(
                    "Next time, charge it by the maker's method until the current has fallen off, "
                    "let it rest an hour, then start."
                ),
            )
        )
    return tuple(advice)
