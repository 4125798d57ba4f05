"""A battery as its owner describes it."""

from dataclasses import dataclass

from app.domain.fields.private_battery_fields import PrivateBatteryFields
from app.domain.i18n.message import say
from app.domain.threshold import Threshold, ThresholdKind
from app.domain.units.time_units import DAYS_PER_YEAR
from app.domain.warranty import Warranty

WEEKS_A_YEAR = DAYS_PER_YEAR / 7


@dataclass(frozen=True)
class BatteryDetails(PrivateBatteryFields):
    """What the owner typed about a battery, with what follows from it alone."""

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
        """What the label promises above the reserve, which is a share of what a battery holds."""
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
