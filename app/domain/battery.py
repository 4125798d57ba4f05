"""A battery as its owner describes it."""

from dataclasses import dataclass
from datetime import date

from app.domain.appliance import Appliance
from app.domain.chemistry import Chemistry
from app.domain.i18n.message import say
from app.domain.threshold import Threshold, ThresholdKind
from app.domain.units.time_units import DAYS_PER_YEAR
from app.domain.warranty import Warranty

WEEKS_A_YEAR = DAYS_PER_YEAR / 7


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
    threshold_kind: ThresholdKind = ThresholdKind.RATED
    end_of_life_share: float = 0.8
    daily_use_ah: float | None = None
    nights: float | None = None
    test_interval_days: int = 91
    place: str = ""
    serial_number: str = ""
    price: float | None = None
    notes: str = ""
    currency: str = ""
    warranty_from: date | None = None
    warranty_years: float | None = None
    warranty_share: float | None = None
    warranty_cycles: float | None = None
    # What is drawn from it in use, by one of two ways of knowing it; for the share of the cycling.
    drawn_ah_a_week: float | None = None
    full_discharges_a_year: float | None = None
    # Between which shares of charge it waits when it is not used; for the share of time and heat.
    waits_at_low_share: float = 0.5
    waits_at_high_share: float = 1.0
    # A usual day on the road.
    charge_ah_a_day: float | None = None
    cold_week_c: float | None = None
    appliances: tuple[Appliance, ...] = ()

    @property
    def threshold(self) -> Threshold:
        """The level at which the battery's life ends; share of rated where nights lack a use."""
        percent = self.end_of_life_share * 100
        if self.threshold_kind is ThresholdKind.FIRST_TEST:
            words = say("{percent:g} % of the first test", percent=percent)
            return Threshold(self.threshold_kind, words, share=self.end_of_life_share)
        if self.threshold_kind is ThresholdKind.NIGHTS and self.daily_use_ah and self.nights:
            ah = self.nights * self.daily_use_ah / (1 - self.reserve_share)
            words = say(
                "{ah:.0f} Ah for {nights:g} nights of {use_ah:g} Ah",
                ah=ah,
                nights=self.nights,
                use_ah=self.daily_use_ah,
            )
            return Threshold(self.threshold_kind, words, ah=ah)
        ah = self.rated_ah * self.end_of_life_share
        words = say("{percent:g} % of rated ({ah:.0f} Ah)", percent=percent, ah=ah)
        return Threshold(ThresholdKind.RATED, words, ah=ah)

    @property
    def usable_ah(self) -> float:
        """Rated capacity less the reserve kept back."""
        return self.rated_ah * (1 - self.reserve_share)

    @property
    def warranty(self) -> Warranty:
        """What the maker promised; without a day of its own it runs from the first day in use."""
        return Warranty(
            self.warranty_from or self.in_service_since,
            self.warranty_years,
            self.warranty_share,
            self.warranty_cycles,
        )

    @property
    def use_ah_a_day(self) -> float | None:
        """What a day draws: the sum that was typed, else that of the appliances; None for none."""
        if self.daily_use_ah is not None or not self.appliances:
            return self.daily_use_ah
        return sum(one.ah_a_day(self.nominal_v) for one in self.appliances)

    @property
    def throughput_ah_a_year(self) -> float | None:
        """What is drawn in a year of use; None where the owner did not say."""
        if self.drawn_ah_a_week is not None:
            return self.drawn_ah_a_week * WEEKS_A_YEAR
        if self.full_discharges_a_year is not None:
            return self.full_discharges_a_year * self.rated_ah
        return None

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
