"""What a test can prove: measured, at least, or unusable."""

from dataclasses import dataclass

from app.analysis.counting.delivered import Delivered
from app.analysis.counting.noted_charge import NotedCharge
from app.analysis.evidence.conditions import DischargeConditions
from app.analysis.evidence.gauge import Gauge
from app.analysis.evidence.next_time import advice_after, second_meter
from app.analysis.evidence.unusable import MAX_OF_RATED, TOO_MUCH, why_unusable
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, joined, say
from app.domain.units.time_units import SECONDS_PER_HOUR

# Above this the voltage sags under the load alone and proves no emptiness (common practice).
LIGHT_LOAD_C_RATE = 0.5
HEAVIER = 2.0
COLD_C = 0.0
# A last voltage this close to the mean of the discharge shows no empty battery, where nothing else
# is known of it: every chemistry in `domain.chemistry` is empty at 94 % of its nominal voltage or
# below.
NEAR_MEAN = 0.95
# What a battery still gives from a voltage under a light load down to empty, as a share of what it
# holds: about 15 % from 8 % above the empty voltage and higher, proportionally less below
# (common practice, after the usual discharge curves).
LEFT_SHARE, LEFT_ABOVE = 0.15, 0.08
CORRECTED_TOO_MUCH = "more_than_possible_corrected"
_WITHIN_A_STEP = N_(
    "The voltage fell to {last_v:.3f} V, within one step of the cut-off of {cut_off_v:g} V."
)
STOPPED_EARLY = N_(
    "The discharge ended before the battery was empty ({end_reason}), so it proves that at least "
    "this much was there."
)
STOPPED_EARLY_AT = N_(
    "The discharge ended at {last_v:.2f} V, before the battery was empty ({end_reason}), so it "
    "proves that at least this much was there."
)
END_UNKNOWN = N_(
    "It is not known whether the battery was empty at the end, so the test proves that at least "
    "this much was there."
)

CONTRADICTS = N_(
    "The notes say that {end_reason}, but the last voltage was {last_v:.2f} V, above the "
    "{empty_v:.2f} V at which the battery would be empty. The protection may have switched off "
    "for another reason (heat, cold, a weak cell, too much current)."
)
HARDLY_FELL = N_(
    "The last voltage was {last_v:.2f} V, hardly below the mean of {mean_v:.2f} V. That does not "
    "show an empty battery, whatever switched it off."
)
SAID = N_("The notes say that {end_reason}; no voltage contradicts them.")
SAID_UNSEEN = N_("The notes say that {end_reason}; the voltage at the end was not noted.")
NOTE_THE_END = N_("If it switched off some time after the last reading, note that moment.")


@dataclass(frozen=True)
class Evidence:
    """The kind of a result, why, and what to do next time, in plain words."""

    kind: EvidenceKind
    reasons: tuple[Finding, ...]
    next_time: tuple[Finding, ...]


def classify(
    delivered: Delivered | NotedCharge, about: DischargeConditions, gauge: Gauge | None
) -> Evidence:
    """Decide what the discharge proves.

    Only a discharge from full to electrically empty measures capacity; any other proves that at
    least so much was there. A gauge's percentage never counts.
    """
    spoilt = why_unusable(delivered, about)
    if spoilt is not None:
        advice = (
            second_meter()
            if spoilt.code == TOO_MUCH
            else advice_after(EvidenceKind.UNUSABLE, False, about)
        )
        return Evidence(EvidenceKind.UNUSABLE, (spoilt,), advice)
    empty, reasons = _empty(delivered, about)
    full = about.charge_condition.full
    if not full:
        text = (
            say("Whether the battery was full at the start was not noted.")
            if about.charge_condition is ChargeCondition.UNKNOWN
            else say(
                "The battery was not known to be full at the start ({charge_condition}).",
                charge_condition=about.charge_condition.label,
            )
        )
        reasons.append(Finding("not_full", text))
    kind = EvidenceKind.MEASURED if empty and full else EvidenceKind.AT_LEAST
    if gauge is not None and gauge.independent is False and kind is EvidenceKind.AT_LEAST:
        reasons.append(Finding("gauge_counts", gauge.words))
    return Evidence(kind, tuple(reasons), advice_after(kind, empty, about))


def only_what_was_counted(evidence: Evidence, capacity_ah: float, rated_ah: float) -> Evidence:
    """What is left where corrections lead to a capacity (Ah) that no such battery has.

    An unusable test stays unusable.
    """
    if evidence.kind is not EvidenceKind.MEASURED:
        return evidence
    beyond = Finding(
        CORRECTED_TOO_MUCH,
        say(
            "With its corrections the test would give {capacity_ah:.4g} Ah, but a battery rated "
            "{rated_ah:g} Ah gives at most {most_ah:.4g} Ah. Fadeline uses only the amp-hours "
            "counted. Check the rated capacity, the unit of the currents, the temperature and "
            "the times.",
            capacity_ah=capacity_ah,
            rated_ah=rated_ah,
            most_ah=MAX_OF_RATED * rated_ah,
        ),
    )
    return Evidence(EvidenceKind.AT_LEAST, (*evidence.reasons, beyond), second_meter())


def _empty(
    delivered: Delivered | NotedCharge, about: DischargeConditions
) -> tuple[bool, list[Finding]]:
    """Whether the battery was electrically empty at the end, and the reason."""
    last_v = delivered.last_voltage_v
    if isinstance(delivered, Delivered) and delivered.reached_cut_off:
        cut_off_v = about.cut_off_v
        hardly = last_v is not None and cut_off_v is not None and last_v > cut_off_v
        words = (
            say(_WITHIN_A_STEP, cut_off_v=cut_off_v, last_v=last_v)
            if hardly
            else say("The voltage fell to the cut-off of {cut_off_v:g} V.", cut_off_v=cut_off_v)
        )
        return True, [Finding("cut_off_reached", words)]
    limit = about.empty_v if about.cut_off_v is None else about.cut_off_v
    low = last_v is not None and limit is not None and last_v <= limit
    if about.end_reason.claims_empty:
        if low:
            return True, [
                Finding(
                    "empty_voltage",
                    say(
                        "The notes say that {end_reason}. The last voltage of {last_v:.2f} V "
                        "fits: this battery is empty at or below {empty_v:.2f} V.",
                        end_reason=about.end_reason.label,
                        last_v=last_v,
                        empty_v=limit,
                    ),
                )
            ]
        return _claimed_empty(delivered, about.end_reason, limit)
    if low:
        heavy = _heavy(delivered, about)
        if heavy is None:
            return True, [
                Finding(
                    "empty_voltage",
                    say(
                        "The last voltage was {last_v:.2f} V; this battery is empty at or below "
                        "{empty_v:.2f} V under a light load.",
                        last_v=last_v,
                        empty_v=limit,
                    ),
                )
            ]
        return False, [heavy]
    if about.end_reason is EndReason.UNKNOWN and (last_v is None or limit is None):
        return False, [Finding("stopped_early", say(END_UNKNOWN))]
    stopped = STOPPED_EARLY if last_v is None else STOPPED_EARLY_AT
    text = say(stopped, end_reason=about.end_reason.label, last_v=last_v)
    return False, [Finding("stopped_early", text)]


def _heavy(delivered: Delivered | NotedCharge, about: DischargeConditions) -> Finding | None:
    """A low voltage under a heavy load or in the cold is no proof of emptiness."""
    at_the_end, mean_a = _current_at_the_end(delivered), delivered.mean_current_a
    if at_the_end is None or mean_a is None:
        sags = say(
            "The last voltage was low, but nobody noted what the load drew, and under a heavy "
            "load the voltage sags before the battery is empty"
        )
    elif about.rated_ah and at_the_end > LIGHT_LOAD_C_RATE * about.rated_ah:
        sags = say(
            "The last voltage was low, but under a load of {share:.1f} times the rated capacity "
            "per hour the voltage sags before the battery is empty",
            share=at_the_end / about.rated_ah,
        )
    elif at_the_end > HEAVIER * mean_a:
        sags = say(
            "The last voltage was low, but under {last_a:.3g} A, far more than the {mean_a:.3g} "
            "A before, the voltage sags before the battery is empty",
            last_a=at_the_end,
            mean_a=mean_a,
        )
    elif about.temperature_c is not None and about.temperature_c < COLD_C:
        sags = say(
            "The last voltage was low, but at {temperature:.0f} the voltage sags before the "
            "battery is empty",
            temperature=Celsius(about.temperature_c),
        )
    else:
        return None
    return Finding(
        "voltage_sags",
        say(
            "{sags}: only a cut-off by the protection or at the cut-off voltage would be a "
            "measurement.",
            sags=sags,
        ),
    )


def _current_at_the_end(delivered: Delivered | NotedCharge) -> float | None:
    if isinstance(delivered, NotedCharge):
        return delivered.mean_current_a
    return float(delivered.current_a[-1])


def _mean_v(delivered: Delivered | NotedCharge) -> float | None:
    """The mean voltage by charge, where voltages were read."""
    if not isinstance(delivered, Delivered) or not delivered.energy_wh or not delivered.charge_ah:
        return None
    return delivered.energy_wh / delivered.charge_ah


def _claimed_empty(
    delivered: Delivered | NotedCharge, end_reason: EndReason, limit: float | None
) -> tuple[bool, list[Finding]]:
    """The owner says it was empty: believe it unless the voltage at that moment says otherwise."""
    last_v = delivered.last_voltage_v
    later_ah = 0.0
    if isinstance(delivered, Delivered):
        later_ah = delivered.beyond_s / SECONDS_PER_HOUR * delivered.end_current_a
    if last_v is None and end_reason is EndReason.CUT_OFF_VOLTAGE:
        text = say(
            "The notes say that {end_reason}, but give no voltage at the end.",
            end_reason=end_reason.label,
        )
        return False, [Finding("no_voltage", text)]
    mean_v = _mean_v(delivered)
    needed_v = NEAR_MEAN * mean_v if limit is None and mean_v is not None else limit
    had_time = False
    if last_v is not None and needed_v is not None:
        height = min(1.0, max(0.0, last_v / needed_v - 1) / LEFT_ABOVE)
        had_time = later_ah >= height * LEFT_SHARE * delivered.charge_ah
    if last_v is None or needed_v is None or had_time:
        words = SAID_UNSEEN if last_v is None else SAID
        text = say(words, end_reason=end_reason.label)
        return True, [Finding("said_empty", text)]
    if limit is None:
        text = say(HARDLY_FELL, last_v=last_v, mean_v=mean_v)
        return False, [Finding("hardly_fell", text)]
    text = say(
        CONTRADICTS,
        end_reason=end_reason.label,
        last_v=last_v,
        empty_v=limit,
    )
    if isinstance(delivered, Delivered) and not delivered.beyond_s:
        text = joined(" ", (text, say(NOTE_THE_END)))
    return False, [Finding("voltage_contradicts", text)]
