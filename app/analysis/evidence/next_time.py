"""What to do otherwise in the next test, so that it proves more."""

from app.analysis.evidence.conditions import DischargeConditions
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.marks import N_
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
                "end: then the doubt is smaller, and anyone can check the result."
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


_AGAINST = {
    "gain": N_("Next time, use a better meter, or compare yours with one and enter its limits."),
    "offset": N_("Next time, zero the meter with nothing connected just before the test."),
    "resolution": N_("Next time, use a meter with a smaller step, or a larger load."),
    "clock": N_("Next time, read all times from one clock that is set right."),
    "sampling": N_("Next time, use a steadier load, read the meter more often, or log it."),
    "counter": N_("Next time, note the counter with all its digits, at the start and at the end."),
    "end": N_("Next time, note the minute of the end, and the last volts and amps."),
    "tail": N_("Next time, let the battery's own protection end the test, and note the minute."),
    "charge": N_(
        "Next time, charge it by the maker's method until the current has fallen off, and let it "
        "rest an hour."
    ),
    "temperature_coefficient": N_("Next time, test closer to the rated temperature."),
    "temperature_reading": N_(
        "Next time, measure the temperature at the battery itself, or test closer to the rated "
        "temperature."
    ),
    "temperature_unnoted": N_("Next time, measure the temperature at the battery and note it."),
    "rate_coefficient": N_(
        "Next time, test at a load closer to the rated current: rated capacity divided by hour "
        "rate."
    ),
    "unseen_current": N_("Next time, note the current of the load."),
    "unseen_load": N_("Next time, look at the current every hour and note it."),
    "mean_voltage": N_("Next time, note amp-hours, or the voltage every hour."),
}


def against_doubt(code: str) -> str:
    """What its owner can do about a line of the budget that is the largest."""
    return say(_AGAINST[code])
