"""A battery as its owner describes it."""

from dataclasses import dataclass
from datetime import date

from app.domain.chemistry import Chemistry


@dataclass(frozen=True)
class BatteryDetails:
    """What the owner typed about a battery. Shares are fractions, 0.8 for 80 %."""

    name: str
    chemistry: Chemistry
    nominal_v: float
    rated_ah: float
    rated_hours: float | None = None
    rated_temperature_c: float = 25.0
    in_service_since: date | None = None
    cut_off_v: float | None = None
    empty_under_load_v: float | None = None
    corrects_temperature: bool = True
    corrects_rate: bool = True
    reserve_share: float = 0.0
    end_of_life_share: float = 0.8
    test_interval_days: int = 91
    place: str = ""
    serial_number: str = ""
    price: float | None = None
    notes: str = ""

    @property
    def end_of_life_ah(self) -> float:
        return self.rated_ah * self.end_of_life_share

    @property
    def usable_ah(self) -> float:
        """Rated capacity less the reserve kept back."""
        return self.rated_ah * (1 - self.reserve_share)

    @property
    def empty_v(self) -> float:
        """Terminal voltage under load at and below which the battery counts as empty."""
        return self.empty_under_load_v or self.chemistry.empty_v(self.nominal_v)


@dataclass(frozen=True)
class Battery:
    """A stored battery: its identity and what is known of it."""

    id: int
    details: BatteryDetails
    version: int
