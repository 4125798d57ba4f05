"""What an owner says of a battery that no shared page and no file to send shows."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from app.domain import quantity as q
from app.domain.appliance import Appliance
from app.domain.fields.battery_fields import BatteryFields
from app.domain.fields.common_fields import NOTES
from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.limits import MAX_CURRENCY_LENGTH, MAX_LINE_LENGTH, MAX_NAME_LENGTH


@dataclass(frozen=True)
class PrivateBatteryFields(BatteryFields):
    """Its place and number, its warranty and price, and its use. Shares are fractions."""

    place: Annotated[
        str,
        Described(
            N_("Fitted"),
            "Where in the vehicle it is fitted.",
            longest=MAX_LINE_LENGTH,
            called=N_("where it is fitted"),
        ),
    ] = ""
    serial_number: Annotated[
        str,
        Described(
            N_("Serial number"),
            "Serial number on its label.",
            longest=MAX_NAME_LENGTH,
            called=N_("serial number"),
        ),
    ] = ""
    price: Annotated[
        float | None,
        Described(N_("Price"), "What it cost.", q.PRICE, unit="the owner's currency"),
    ] = None
    notes: Annotated[str, NOTES] = ""
    currency: Annotated[
        str,
        Described(
            N_("Currency"),
            "In which money the price is.",
            longest=MAX_CURRENCY_LENGTH,
            called=N_("currency"),
            added_later=True,
        ),
    ] = ""
    warranty_from: Annotated[
        date | None,
        Described(
            N_("Warranty from"),
            "First day of the warranty, if it is another.",
            called=N_("first day of the warranty"),
            added_later=True,
        ),
    ] = None
    warranty_years: Annotated[
        float | None,
        Described(
            N_("Warranty"),
            "Years that the warranty lasts.",
            q.WARRANTY_YEARS,
            unit="a",
            added_later=True,
        ),
    ] = None
    warranty_share: Annotated[
        float | None,
        Described(
            N_("Capacity promised"),
            "Share of the rated capacity that the warranty promises, 0.8 for 80 %.",
            q.WARRANTY_SHARE,
            added_later=True,
        ),
    ] = None
    warranty_cycles: Annotated[
        float | None,
        Described(
            N_("Cycles promised"),
            "Full discharges it lasts.",
            q.WARRANTY_CYCLES,
            unit=N_("cycles"),
            added_later=True,
        ),
    ] = None
    # What is drawn from it in use, by one of two ways of knowing it; for the share of the cycling.
    drawn_ah_a_week: Annotated[
        float | None,
        Described(
            N_("Drawn a week"),
            "What is drawn in a usual week.",
            q.DRAWN_A_WEEK,
            added_later=True,
        ),
    ] = None
    full_discharges_a_year: Annotated[
        float | None,
        Described(
            N_("Full discharges a year"),
            "How often the rated capacity is drawn in a year, if that is what the owner knows.",
            q.FULL_DISCHARGES,
            unit="1/a",
            added_later=True,
        ),
    ] = None
    # Between which shares of charge it waits when it is not used; for the share of time and heat.
    waits_at_low_share: Annotated[
        float,
        Described(
            N_("Waits from"),
            "Lowest state of charge while it waits.",
            q.CHARGE_WAITING,
            called=N_("lowest state of charge it waits at"),
            added_later=True,
        ),
    ] = 0.5
    waits_at_high_share: Annotated[
        float,
        Described(
            N_("Waits up to"),
            "Highest state of charge while it waits.",
            q.CHARGE_WAITING,
            called=N_("highest state of charge it waits at"),
            added_later=True,
        ),
    ] = 1.0
    # A usual day on the road.
    charge_ah_a_day: Annotated[
        float | None,
        Described(
            N_("Charged a day"),
            "What is charged on a usual day on the road.",
            q.CHARGE_A_DAY,
            added_later=True,
        ),
    ] = None
    cold_week_c: Annotated[
        float | None,
        Described(
            N_("Cold week"),
            "Temperature of the battery in a cold week.",
            q.COLD_WEEK,
            added_later=True,
        ),
    ] = None
    appliances: Annotated[
        tuple[Appliance, ...],
        Described(
            N_("Appliances"),
            "Name, hours a day, and current in A or power in W of each.",
            asked=False,
            added_later=True,
        ),
    ] = ()
