"""What a battery lost between its first and its last test, and how surely."""

from dataclasses import dataclass
from datetime import date

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.statistics.coverage import student_factor
from app.domain.i18n.message import say


@dataclass(frozen=True)
class Period:
    """From the first to the last measured test: what was lost, in % of rated, and how surely."""

    from_day: date
    to_day: date
    lost_percent: float
    standard_percent: float
    degrees_of_freedom: float

    @property
    def half_width(self) -> float:
        """Of the 95 % interval, in % of rated (Student's t)."""
        return student_factor(self.degrees_of_freedom) * self.standard_percent

    @property
    def label(self) -> str:
        """What it is called: the line through the tests may have no proven slope."""
        if abs(self.lost_percent) > self.half_width:
            return say("Measured loss")
        return say("Loss by the line, not proven")


def observed_loss(battery: BatteryReport) -> Period | None:
    """What the line of the fade lost between its first and last test; None without a line."""
    fade = battery.fade
    if fade.line is None:
        return None
    days = fade.last_day - fade.first_day
    scale = 100 * days / battery.rated_ah
    freedom = fade.line.degrees_of_freedom
    return Period(
        date.fromordinal(int(fade.first_day)),
        date.fromordinal(int(fade.last_day)),
        -fade.line.slope * scale,
        fade.line.slope_se * scale,
        float("inf") if freedom is None else float(freedom),
    )
