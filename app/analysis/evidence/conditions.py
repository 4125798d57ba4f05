"""What the owner of a test knows about it."""

from dataclasses import dataclass

from app.domain.entities.discharge import ChargeCondition, EndReason


@dataclass(frozen=True)
class DischargeConditions:
    """What the owner knows about a discharge. Voltages are terminal, under load (V)."""

    charge_condition: ChargeCondition
    end_reason: EndReason
    cut_off_v: float | None = None
    empty_v: float | None = None
    rated_ah: float | None = None
    temperature_c: float | None = None
