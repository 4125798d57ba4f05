"""What batteries, their events and the meters are in the records, column by column."""

from app.domain import quantity as q
from app.domain.chemistry import Chemistry
from app.domain.event import EventKind
from app.domain.i18n.marker import noted
from app.domain.meter import MeterKind
from app.domain.threshold import ThresholdKind
from app.storage.schema.common_columns import BATTERY_ID, DELETED, ID, NOTES, UID, VERSION, share_of
from app.storage.schema.table_docs import Column, TableDocs
from app.storage.schema.text_rules import APPLIANCES

BATTERY = TableDocs(
    noted("Batteries"),
    noted("Battery"),
    "The batteries as their owner describes them.",
    {
        "id": ID,
        "uid": UID,
        "name": Column(noted("Name"), "", "What the owner calls it."),
        "chemistry": Column(noted("Chemistry"), "", "Chemistry of its cells.", Chemistry),
        "nominal_v": Column(
            noted("Nominal voltage"), "V", "Voltage on its label.", q.NOMINAL_VOLTAGE
        ),
        "rated_ah": Column(
            noted("Rated capacity"), "Ah", "Capacity on its label.", q.RATED_CAPACITY
        ),
        "rated_hours": Column(
            noted("Hour rate"),
            "h",
            "Hours over which the rated capacity is delivered.",
            q.RATED_HOURS,
        ),
        "rated_temperature_c": Column(
            noted("Rated temperature"),
            "°C",
            "Temperature at which the rated capacity holds.",
            q.RATED_TEMPERATURE,
        ),
        "in_service_since": Column(noted("In service since"), "", "First day in use."),
        "cut_off_v": Column(
            noted("Cut-off voltage"),
            "V",
            "Terminal voltage at which a test ends.",
            q.CUT_OFF_VOLTAGE,
        ),
        "empty_under_load_v": Column(
            noted("Empty under load"),
            "V",
            "Terminal voltage under load at which it counts as empty, where the owner gave one.",
            q.EMPTY_VOLTAGE,
        ),
        "corrects_temperature": Column(
            noted("Corrects temperature"),
            "",
            "Whether results are corrected to the rated temperature.",
        ),
        "corrects_rate": Column(
            noted("Corrects rate"), "", "Whether results are corrected to the hour rate."
        ),
        "reserve_share": Column(
            noted("Reserve"),
            "1",
            "Share of the rated capacity that is kept back, 0.2 for 20 %.",
            share_of(q.RESERVE),
        ),
        "threshold_kind": Column(
            noted("Threshold"), "", "What the end of its life is measured by.", ThresholdKind
        ),
        "end_of_life_share": Column(
            noted("End-of-life share"),
            "1",
            "Share of the capacity below which its life ends, 0.8 for 80 %.",
            q.END_OF_LIFE_SHARE,
        ),
        "daily_use_ah": Column(
            noted("Use a day"), "Ah", "What is drawn in a day and a night.", q.DAILY_USE
        ),
        "nights": Column(
            noted("Nights"), "d", "Nights without charging that it has to last.", q.NIGHTS
        ),
        "test_interval_days": Column(
            noted("Days between tests"), "d", "After how many days a test is due.", q.TEST_INTERVAL
        ),
        "place": Column(noted("Fitted"), "", "Where in the vehicle it is fitted."),
        "serial_number": Column(noted("Serial number"), "", "Serial number on its label."),
        "price": Column(noted("Price"), "the owner's currency", "What it cost.", q.PRICE),
        "notes": NOTES,
        "currency": Column(
            noted("Currency"), "", "In which money the price is.", added_later=True, earlier=""
        ),
        "warranty_from": Column(
            noted("Warranty from"),
            "",
            "First day of the warranty, if it is another.",
            added_later=True,
        ),
        "warranty_years": Column(
            noted("Warranty"),
            "a",
            "Years that the warranty lasts.",
            q.WARRANTY_YEARS,
            added_later=True,
        ),
        "warranty_share": Column(
            noted("Capacity promised"),
            "1",
            "Share of the rated capacity that the warranty promises, 0.8 for 80 %.",
            share_of(q.WARRANTY_SHARE),
            added_later=True,
        ),
        "warranty_cycles": Column(
            noted("Cycles promised"),
            noted("cycles"),
            "Full discharges it lasts.",
            q.WARRANTY_CYCLES,
            added_later=True,
        ),
        "drawn_ah_a_week": Column(
            noted("Drawn a week"),
            "Ah",
            "What is drawn in a usual week.",
            q.DRAWN_A_WEEK,
            added_later=True,
        ),
        "full_discharges_a_year": Column(
            noted("Full discharges a year"),
            "1/a",
            "How often the rated capacity is drawn in a year, if that is what the owner knows.",
            q.FULL_DISCHARGES,
            added_later=True,
        ),
        "waits_at_low_share": Column(
            noted("Waits from"),
            "1",
            "Lowest state of charge while it waits.",
            share_of(q.CHARGE_WAITING),
            added_later=True,
            earlier=0.5,
        ),
        "waits_at_high_share": Column(
            noted("Waits up to"),
            "1",
            "Highest state of charge while it waits.",
            share_of(q.CHARGE_WAITING),
            added_later=True,
            earlier=1.0,
        ),
        "charge_ah_a_day": Column(
            noted("Charged a day"),
            "Ah",
            "What is charged on a usual day on the road.",
            q.CHARGE_A_DAY,
            added_later=True,
        ),
        "cold_week_c": Column(
            noted("Cold week"),
            "°C",
            "Temperature of the battery in a cold week.",
            q.COLD_WEEK,
            added_later=True,
        ),
        "appliances": Column(
            noted("Appliances"),
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
EVENT = TableDocs(
    noted("Events"),
    noted("Event"),
    "What happened to a battery.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        "on_date": Column(noted("Date"), "", "The day it happened."),
        "kind": Column(noted("Kind"), "", "What happened.", EventKind),
        "note": Column(noted("Note"), "", "Private note."),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="on_date",
)
METER = TableDocs(
    noted("Meters"),
    noted("Meter"),
    "The meters that measured currents, and what they may be wrong by.",
    {
        "id": ID,
        "uid": UID,
        "name": Column(noted("Name"), "", "What the owner calls it."),
        "kind": Column(noted("Kind"), "", "Kind of meter.", MeterKind),
        "gain_limit_percent": Column(
            noted("Gain limit"), "%", "The reading is off by at most this share.", q.METER_GAIN
        ),
        "offset_limit_a": Column(
            noted("Zero-point limit"), "A", "The zero point is off by at most this.", q.METER_OFFSET
        ),
        "resolution_a": Column(
            noted("Smallest step"), "A", "Smallest step that is shown.", q.METER_RESOLUTION
        ),
        "version": VERSION,
    },
)
