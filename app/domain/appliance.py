"""What draws current every day."""

from dataclasses import dataclass

from app.domain.i18n.message import say


@dataclass(frozen=True)
class Appliance:
    """One consumer. Either current_a or power_w is given; hours_a_day is how long it runs."""

    name: str
    hours_a_day: float
    current_a: float | None = None
    power_w: float | None = None

    def __str__(self) -> str:
        about = {"name": self.name, "hours": self.hours_a_day}
        if self.power_w is not None:
            return say("{name} {power_w:g} W {hours:g} h a day", **about, power_w=self.power_w)
        current_a = self.current_a or 0.0
        return say("{name} {current_a:g} A {hours:g} h a day", **about, current_a=current_a)

    def ah_a_day(self, nominal_v: float) -> float:
        """Amp-hours a day; power is drawn at the nominal voltage."""
        current_a = self.current_a or 0.0
        if self.power_w is not None:
            current_a = self.power_w / nominal_v
        return current_a * self.hours_a_day
