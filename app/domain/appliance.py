"""What draws current every day."""

from dataclasses import dataclass

from app.domain.saying import say


@dataclass(frozen=True)
class Appliance:
    """One consumer. Either current_a or power_w is given; hours_a_day is how long it runs."""

    name: str
    hours_a_day: float
    current_a: float | None = None
    power_w: float | None = None

    def __str__(self) -> str:
        drawn = f"{self.power_w:g} W" if self.power_w is not None else f"{self.current_a or 0:g} A"
        return say(
            "{name} {drawn} {hours_a_day:g} h a day",
            name=self.name,
            drawn=drawn,
            hours_a_day=self.hours_a_day,
        )

    def ah_a_day(self, nominal_v: float) -> float:
        """Amp-hours a day; power is drawn at the nominal voltage."""
        current_a = self.current_a or 0.0
        if self.power_w is not None:
            current_a = self.power_w / nominal_v
        return current_a * self.hours_a_day
