"""What a battery probably holds before it is tested again."""

from dataclasses import dataclass

import numpy as np

from app.analysis.battery.battery_report import BatteryReport
from app.domain.i18n.message import say, say_plural

# What a label is worth before any test: a battery may hold less, hardly more (common practice).
LABEL_LOW, LABEL_HIGH = 0.7, 1.05


@dataclass(frozen=True)
class ExpectedCapacity:
    """What the battery probably holds, in Ah: low and high with 90 %, and where it comes from."""

    low_ah: float
    middle_ah: float
    high_ah: float
    words: str


def capacity_guess(report: BatteryReport) -> ExpectedCapacity:
    """What the battery probably holds now: from its projection, else from its label."""
    fan = report.end_of_life.fan
    if not fan:
        rated = report.rated_ah
        words = say("from the label alone; there is no measured test yet")
        return ExpectedCapacity(LABEL_LOW * rated, rated, LABEL_HIGH * rated, words)
    days = [point.on_date.toordinal() for point in fan]

    def at(level: str) -> float:
        values = [getattr(point, level) for point in fan]
        return float(np.interp(report.as_of.toordinal(), days, values))

    words = say_plural(
        "projected from its 1 measured test",
        "projected from its {count} measured tests",
        report.fade.measured,
    )
    return ExpectedCapacity(at("p05"), at("p50"), at("p95"), words)
