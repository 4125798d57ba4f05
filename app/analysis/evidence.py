"""What a test can prove: measured, at least, or unusable."""

from dataclasses import dataclass

from app.analysis.delivered import Delivered
from app.domain.discharge import ChargeCondition, EndReason
from app.domain.finding import Finding, Kind


@dataclass(frozen=True)
class Evidence:
    """The kind of a result and why, in plain words."""

    kind: Kind
    reasons: tuple[Finding, ...]


def judge(
    delivered: Delivered,
    *,
    charge_condition: ChargeCondition,
    end_reason: EndReason,
    cut_off_v: float | None,
    empty_v: float | None,
) -> Evidence:
    """Decide what the discharge proves.

    Only a discharge from full to electrically empty measures capacity; any other proves that at
    least so much was there. cut_off_v and empty_v are terminal voltages under load (V).
    """
    empty, reasons = _empty(delivered, end_reason, cut_off_v, empty_v)
    full = charge_condition.full
    if not full:
        said = charge_condition.label
        reasons.append(
            Finding("not_full", f"The battery was not known to be full at the start ({said}).")
        )
    kind = Kind.MEASURED if empty and full else Kind.AT_LEAST
    return Evidence(kind, tuple(reasons))


def _empty(
    delivered: Delivered, end_reason: EndReason, cut_off_v: float | None, empty_v: float | None
) -> tuple[bool, list[Finding]]:
    """Whether the battery was electrically empty at the end, and the reason."""
    last_v = delivered.last_voltage_v
    if delivered.reached_cut_off:
        return True, [
            Finding("cut_off_reached", f"The voltage fell to the cut-off of {cut_off_v:g} V.")
        ]
    limit = cut_off_v if cut_off_v is not None else empty_v
    if last_v is not None and limit is not None and last_v <= limit:
        return True, [
            Finding("empty_voltage", f"The last voltage, {last_v:.2f} V, lies in the empty region.")
        ]
    if end_reason.claims_empty:
        return _claimed_empty(delivered, end_reason, limit)
    shown = "" if last_v is None else f" at {last_v:.2f} V"
    return False, [
        Finding(
            "stopped_early",
            f"The discharge ended{shown} without the battery being empty ({end_reason.label}): "
            "it proves that at least this much was there.",
        )
    ]


def _claimed_empty(
    delivered: Delivered, end_reason: EndReason, limit: float | None
) -> tuple[bool, list[Finding]]:
    """The owner says it was empty: believe it unless the voltage at that moment says otherwise."""
    last_v = delivered.last_voltage_v
    if last_v is None or limit is None or delivered.end_noted:
        return True, [
            Finding("said_empty", f"You noted that {end_reason.label}; no voltage contradicts it.")
        ]
    return False, [
        Finding(
            "voltage_contradicts",
            f"You noted that {end_reason.label}, but the last voltage was {last_v:.2f} V, above "
            f"{limit:.2f} V where the battery would be empty. The protection may have opened for "
            "another reason (heat, cold, a weak cell, too much current). If it cut off some time "
            "after the last reading, note the moment of the end.",
        )
    ]
