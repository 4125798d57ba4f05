"""What batteries, their events and the meters are in the records, column by column."""

from app.domain import quantity as q
from app.domain.chemistry import Chemistry
from app.domain.event import EventKind
from app.domain.marks import N_
from app.domain.meter import MeterKind
from app.domain.threshold import ThresholdKind
from app.storage.common_columns import BATTERY_ID, DELETED, ID, NOTES, UID, VERSION, share_of
from app.storage.described import Column, Table
from app.storage.text_rules import APPLIANCES

BATTERY = Table(
    N_("Batteries"),
    N_("Battery"),
    "The batteries as their owner describes them.",
    {
        "id": ID,
        "uid": UID,
        "name": Column(N_("Name"), "", "What the owner calls it."),
        "chemistry": Column(N_("Chemistry"), "", "Chemistry of its cells.", Chemistry),
        "nominal_v": Column(N_("Nominal voltage"), "V", "Voltage on its label.", q.NOMINAL_VOLTAGE),
        "rated_ah": Column(N_("Rated capacity"), "Ah", "Capacity on its label.", q.RATED_CAPACITY),
        "rated_hours": Column(
            N_("Hour rate"),
            "h",
            "Hours over which the rated capacity is delivered.",
            q.RATED_HOURS,
        ),
        "rated_temperature_c": Column(
            N_("Rated temperature"),
            "°C",
            "Temperature at which the rated capacity holds.",
            q.RATED_TEMPERATURE,
        ),
        "in_service_since": Column(N_("In service since"), "", "First day in use."),
        "cut_off_v": Column(
            N_("Cut-off voltage"),
            "V",
            "Terminal voltage at which a test ends.",
            q.CUT_OFF_VOLTAGE,
        ),
        "empty_under_load_v": Column(
            N_("Empty under load"),
            "V",
            "Terminal voltage under load at which it counts as empty, where the owner gave one.",
            q.EMPTY_VOLTAGE,
        ),
        "corrects_temperature": Column(
            N_("Corrects temperature"),
            "",
            "Whether results are corrected to the rated temperature.",
        ),
        "corrects_rate": Column(
            N_("Corrects rate"), "", "Whether results are corrected to the hour rate."
        ),
        "reserve_share": Column(
            N_("Reserve"),
            "1",
            "Share of the rated capacity that is kept back, 0.2 for 20 %.",
            share_of(q.RESERVE),
        ),
        "threshold_kind": Column(
            N_("Threshold"), "", "What the end of its life is measured by.", ThresholdKind
        ),
        "end_of_life_share": Column(
            N_("End-of-life share"),
            "1",
            "Share of the capacity below which its life ends, 0.8 for 80 %.",
            q.END_OF_LIFE_SHARE,
        ),
        "daily_use_ah": Column(
            N_("Use a day"), "Ah", "What is drawn in a day and a night.", q.DAILY_USE
        ),
        "nights": Column(
            N_("Nights"), "d", "Nights without charging that it has to last.", q.NIGHTS
        ),
        "test_interval_days": Column(
            N_("Days between tests"), "d", "After how many days a test is due.", q.TEST_INTERVAL
        ),
        "place": Column(N_("Fitted"), "", "Where in the vehicle it is fitted."),
        "serial_number": Column(N_("Serial number"), "", "Serial number on its label."),
        "price": Column(N_("Price"), "the owner's currency", "What it cost.", q.PRICE),
        "notes": NOTES,
        "currency": Column(
            N_("Currency"), "", "In which money the price is.", added_later=True, earlier=""
        ),
        "warranty_from": Column(
            N_("Warranty from"),
            "",
            "First day of the warranty, if it is another.",
            added_later=True,
        ),
        "warranty_years": Column(
            N_("Warranty"),
            "a",
            "Years that the warranty lasts.",
            q.WARRANTY_YEARS,
            added_later=True,
        ),
        "warranty_share": Column(
            N_("Capacity promised"),
            "1",
            "Share of the rated capacity that the warranty promises, 0.8 for 80 %.",
            share_of(q.WARRANTY_SHARE),
            added_later=True,
        ),
        "warranty_cycles": Column(
            N_("Cycles promised"),
            N_("cycles"),
            "Full discharges it lasts.",
            q.WARRANTY_CYCLES,
            added_later=True,
        ),
        "drawn_ah_a_week": Column(
            N_("Drawn a week"),
            "Ah",
            "What is drawn in a usual week.",
            q.DRAWN_A_WEEK,
            added_later=True,
        ),
        "full_discharges_a_year": Column(
            N_("Full discharges a year"),
            "1/a",
            "How often the rated capacity is drawn in a year, if that is what the owner knows.",
            q.FULL_DISCHARGES,
            added_later=True,
        ),
        "waits_at_low_share": Column(
            N_("Waits from"),
            "1",
            "Lowest state of charge while it waits.",
            share_of(q.CHARGE_WAITING),
            added_later=True,
            earlier=0.5,
        ),
        "waits_at_high_share": Column(
            N_("Waits up to"),
            "1",
            "Highest state of charge while it waits.",
            share_of(q.CHARGE_WAITING),
            added_later=True,
            earlier=1.0,
        ),
        "charge_ah_a_day": Column(
            N_("Charged a day"),
            "Ah",
            "What is charged on a usual day on the road.",
            q.CHARGE_A_DAY,
            added_later=True,
        ),
        "cold_week_c": Column(
            N_("Cold week"),
            "°C",
            "Temperature of the battery in a cold week.",
            q.COLD_WEEK,
            added_later=True,
        ),
        "appliances": Column(
            N_("Appliances"),
            "",
            "Name, hours a day, and current in A or power in W of each.",
            APPLIANCES,
            added_later=True,
            earlier="[]",
        ),
        "version": VERSION,
        "deleted_at": DELETED,
    },
)
EVENT = Table(
    N_("Events"),
    N_("Event"),
    "What happened to a battery.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        "on_date": Column(N_("Date"), "", "The day it happened."),
        "kind": Column(N_("Kind"), "", "What happened.", EventKind),
        "note": Column(N_("Note"), "", "Private note."),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="on_date",
)
METER = Table(
    N_("Meters"),
    N_("Meter"),
    "The meters that measured currents, and what they may be wrong by.",
    {
        "id": ID,
        "uid": UID,
        "name": Column(N_("Name"), "", "What the owner calls it."),
        "kind": Column(N_("Kind"), "", "Kind of meter.", MeterKind),
        "gain_limit_percent": Column(
            N_("Gain limit"), "%", "The reading is off by at most this share.", q.METER_GAIN
        ),
        "offset_limit_a": Column(
            N_("Zero-point limit"), "A", "The zero point is off by at most this.", q.METER_OFFSET
        ),
        "resolution_a": Column(
            N_("Smallest step"), "A", "Smallest step that is shown.", q.METER_RESOLUTION
        ),
        "version": VERSION,
    },
)
