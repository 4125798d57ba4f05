"""The result of one capacity test: all that is derived from what was entered."""

from dataclasses import dataclass

from app.analysis.budget import Budget
from app.analysis.delivered import Delivered, deliver
from app.analysis.evidence import Evidence, judge
from app.analysis.uncertainty import budget_of_test
from app.domain.battery import BatteryDetails
from app.domain.discharge import ChargeCondition, DischargeDetails, EndReason
from app.domain.finding import Finding, Kind
from app.domain.meter import MeterDetails, MeterKind, typical
from app.domain.readings import Readings

METHOD_VERSION = 1
SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True)
class Result:
    """What one test delivered, what that proves and how sure it is."""

    delivered: Delivered
    evidence: Evidence
    budget: Budget
    caveats: tuple[Finding, ...]
    method_version: int = METHOD_VERSION

    @property
    def kind(self) -> Kind:
        return self.evidence.kind

    @property
    def capacity_ah(self) -> float:
        """The capacity, or its lower bound where kind says so."""
        return self.delivered.charge_ah


def analyse(
    readings: Readings,
    *,
    charge_condition: ChargeCondition = ChargeCondition.FULL,
    end_reason: EndReason = EndReason.UNKNOWN,
    cut_off_v: float | None = None,
    empty_v: float | None = None,
    ended_after_h: float | None = None,
    meter: MeterDetails | None = None,
) -> Result:
    """Analyse one discharge. Voltages are terminal voltages under load (V).

    Raises Refused where the readings are no discharge (see deliver).
    """
    ended_after_s = None if ended_after_h is None else ended_after_h * SECONDS_PER_HOUR
    delivered = deliver(readings, cut_off_v=cut_off_v, ended_after_s=ended_after_s)
    evidence = judge(
        delivered,
        charge_condition=charge_condition,
        end_reason=end_reason,
        cut_off_v=cut_off_v,
        empty_v=empty_v,
    )
    caveats = list(delivered.caveats)
    if meter is None:
        meter = typical(MeterKind.SHUNT)
        caveats.append(
            Finding("meter_assumed", "No meter was named: the limits of a typical shunt are used.")
        )
    return Result(delivered, evidence, budget_of_test(delivered, meter), tuple(caveats))


def analyse_test(
    test: DischargeDetails, battery: BatteryDetails, meter: MeterDetails | None
) -> Result:
    """Analyse a test of a known battery. The test's own cut-off voltage goes first."""
    return analyse(
        test.readings,
        charge_condition=test.charge_condition,
        end_reason=test.end_reason,
        cut_off_v=test.cut_off_v or battery.cut_off_v,
        empty_v=battery.empty_v,
        ended_after_h=test.ended_after_h,
        meter=meter,
    )
