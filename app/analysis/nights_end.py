"""The day on which so many nights no longer work, as a threshold of its own."""

from dataclasses import dataclass
from datetime import date

from app.analysis.battery_report import BatteryReport
from app.analysis.cold_share import ColdShare
from app.analysis.end_of_life import new_battery, project_end
from app.analysis.nights import DayUse, threshold_of
from app.analysis.pair import Side
from app.analysis.situations import uses_of
from app.domain.battery import BatteryDetails


@dataclass(frozen=True)
class NightsEnd:
    """When so many nights no longer work: dates by 5, 50 and 95 % chance."""

    label: str
    nights: float
    threshold_ah: float
    p05: date | None
    p50: date | None
    p95: date | None
    chance_today: float | None
    words: str


def nights_ends(side: Side, report: BatteryReport, nights: float) -> tuple[NightsEnd, ...]:
    """Without charging, with it, and the same in a cold week."""
    made = []
    for cold in (None, side.cold):
        if cold is not None and cold.middle is None:
            continue
        where = "" if cold is None else f", in a cold week at {cold.temperature_c:g} °C"
        for how, use in uses_of(side.about, cold=cold is not None):
            if not use.endless:
                made.append(_end(side.about, report, nights, use, cold, f"{how}{where}"))
        if side.cold is None:
            break
    return tuple(made)


def _end(
    about: BatteryDetails,
    report: BatteryReport,
    nights: float,
    use: DayUse,
    cold: ColdShare | None,
    label: str,
) -> NightsEnd:
    threshold = threshold_of(nights, use, about.reserve_share, cold)
    new = None
    if about.in_service_since is not None and report.points:
        new = new_battery(about.in_service_since, about.rated_ah, report.points[0].day)
    end = project_end(report.points, report.fade, threshold, report.as_of, about.chemistry, new)
    return NightsEnd(
        label=label,
        nights=nights,
        threshold_ah=threshold.ah or 0.0,
        p05=end.p05,
        p50=end.p50,
        p95=end.p95,
        chance_today=end.chance_above_today,
        words=end.words,
    )
