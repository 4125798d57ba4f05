"""What every column of the records means, in words that need no program.

Each column stands as (title, unit, description); the unit is empty for texts, dates and numbers of
rows, and "1" for counts and shares. A test fails where a column of the tables has no line here.
"""

Words = tuple[str, str, str]

_ID = ("Number", "", "Number of the row in its table; other tables refer to it.")
_UID = (
    "Lasting name",
    "",
    "128 random bits as 32 hexadecimal digits: the same in every copy of the records.",
)
_VERSION = ("Version", "1", "Counts the edits: 1 as first entered.")
_DELETED = ("In the bin since", "", "When it was put in the bin; missing where it was not.")
_BATTERY = ("Battery", "", "Number of the battery.")
_DISCHARGE = ("Capacity test", "", "Number of the capacity test.")
_METER = ("Meter", "", "Number of the meter that measured the current.")
_PLACE = ("Place", "", "Number of the place.")
_OFFSET = (
    "Offset of the clock",
    "min",
    "What to add to a time in UTC to get the clock of the place where it was entered.",
)
_CHARGE = ("Charge before", "", "How the battery was charged before the test.")
_AMBIENT = ("Air temperature", "°C", "Temperature of the air, where it was noted.")
_LOAD = ("Load", "", "What drew the current.")
_NOTES = ("Notes", "", "Private notes.")
_SHA256 = ("SHA-256", "", "SHA-256 of the file's bytes, as 64 hexadecimal digits.")

COLUMN_WORDS: dict[str, dict[str, Words]] = {
    "battery": {
        "id": _ID,
        "uid": _UID,
        "name": ("Name", "", "What the owner calls it."),
        "chemistry": ("Chemistry", "", "Chemistry of its cells."),
        "nominal_v": ("Nominal voltage", "V", "Voltage on its label."),
        "rated_ah": ("Rated capacity", "Ah", "Capacity on its label."),
        "rated_hours": ("Hour rate", "h", "Hours over which the rated capacity is delivered."),
        "rated_temperature_c": (
            "Rated temperature",
            "°C",
            "Temperature at which the rated capacity holds.",
        ),
        "in_service_since": ("In service since", "", "First day in use."),
        "cut_off_v": ("Cut-off voltage", "V", "Terminal voltage at which a test ends."),
        "empty_under_load_v": (
            "Empty under load",
            "V",
            "Terminal voltage under load at which it counts as empty, where the owner gave one.",
        ),
        "corrects_temperature": (
            "Corrects temperature",
            "",
            "Whether results are corrected to the rated temperature.",
        ),
        "corrects_rate": ("Corrects rate", "", "Whether results are corrected to the hour rate."),
        "reserve_share": (
            "Reserve",
            "1",
            "Share of the rated capacity that is kept back, 0.2 for 20 %.",
        ),
        "threshold_kind": ("Threshold", "", "What the end of its life is measured by."),
        "end_of_life_share": (
            "End-of-life share",
            "1",
            "Share of the capacity below which its life ends, 0.8 for 80 %.",
        ),
        "daily_use_ah": ("Use a day", "Ah", "What is drawn in a day and a night."),
        "nights": ("Nights", "d", "Nights without charging that it has to last."),
        "test_interval_days": ("Days between tests", "d", "After how many days a test is due."),
        "place": ("Place", "", "Where in the vehicle it is."),
        "serial_number": ("Serial number", "", "Serial number on its label."),
        "price": ("Price", "the owner's currency", "What it cost."),
        "notes": _NOTES,
        "currency": ("Currency", "", "In which money the price is."),
        "warranty_from": ("Warranty from", "", "First day of the warranty, if it is another."),
        "warranty_years": ("Warranty", "a", "Years that the warranty lasts."),
        "warranty_share": (
            "Capacity promised",
            "1",
            "Share of the rated capacity that the warranty promises, 0.8 for 80 %.",
        ),
        "warranty_cycles": (
            "Cycles promised",
            "cycles",
            "Full discharges it lasts.",
        ),
        "drawn_ah_a_week": ("Drawn a week", "Ah", "What is drawn in a usual week."),
        "full_discharges_a_year": (
            "Full discharges a year",
            "1/a",
            "How often the rated capacity is drawn in a year, if that is what the owner knows.",
        ),
        "waits_at_low_share": ("Waits from", "1", "Lowest share of charge while it waits."),
        "waits_at_high_share": ("Waits up to", "1", "Highest share of charge while it waits."),
        "charge_ah_a_day": ("Charged a day", "Ah", "What is charged on a usual day on the road."),
        "cold_week_c": ("Cold week", "°C", "Temperature of the battery in a cold week."),
        "appliances": (
            "Appliances",
            "",
            "Consumers: name, hours a day, and current in A or power in W.",
        ),
        "version": _VERSION,
        "deleted_at": _DELETED,
    },
    "meter": {
        "id": _ID,
        "uid": _UID,
        "name": ("Name", "", "What the owner calls it."),
        "kind": ("Kind", "", "Kind of instrument."),
        "gain_limit_percent": ("Gain limit", "%", "The reading is off by at most this share."),
        "offset_limit_a": ("Zero-point limit", "A", "The zero point is off by at most this."),
        "resolution_a": ("Smallest step", "A", "Smallest step that is shown."),
        "version": _VERSION,
    },
    "discharge": {
        "id": _ID,
        "uid": _UID,
        "battery_id": _BATTERY,
        "meter_id": _METER,
        "started_at": ("Start", "", "When the first reading was taken, in UTC."),
        "utc_offset_minutes": _OFFSET,
        "charge_condition": _CHARGE,
        "end_reason": ("End reason", "", "Why the discharge ended."),
        "ended_after_h": (
            "Ended after",
            "h",
            "Moment of the end after the first reading, where the owner noted one.",
        ),
        "cut_off_v": (
            "Cut-off voltage",
            "V",
            "This test's own cut-off voltage, where it differs from the battery's.",
        ),
        "ambient_c": _AMBIENT,
        "load": _LOAD,
        "notes": _NOTES,
        "source": ("Source", "", "Where the readings come from."),
        "assumptions": ("Assumptions", "", "What was assumed when they were read: sentences."),
        "left_out_reason": (
            "Left out because",
            "",
            "Why the owner leaves the test out of the trend; empty where it counts.",
        ),
        "version": _VERSION,
        "deleted_at": _DELETED,
    },
    "event": {
        "id": _ID,
        "uid": _UID,
        "battery_id": _BATTERY,
        "on_date": ("Date", "", "The day it happened."),
        "kind": ("Kind", "", "What happened."),
        "note": ("Note", "", "Private note."),
        "version": _VERSION,
        "deleted_at": _DELETED,
    },
    "share": {
        "id": _ID,
        "battery_id": _BATTERY,
        "token": ("Token", "", "The secret part of the link's address. Who has it sees the page."),
        "token_hash": ("Token's SHA-256", "", "SHA-256 of the token, by which it is looked up."),
        "label": ("For whom", "", "What the owner wrote beside the link."),
        "discharge_id": ("Capacity test", "", "The one test it shows; missing for the battery."),
        "shows": ("Parts", "", "Names of the parts that are shown, with commas between them."),
        "views": ("Views", "1", "How often it was opened."),
        "viewed_at": ("Last viewed", "", "When it was opened the last time, in UTC."),
        "created_at": ("Made", "", "When it was made, in UTC."),
        "expires_at": ("Ends", "", "When it ends, in UTC; missing where it does not."),
        "revoked_at": ("Revoked", "", "When it was closed for good, in UTC."),
    },
    "share_beside": {
        "id": _ID,
        "share_id": ("Link", "", "Number of the link."),
        "battery_id": _BATTERY,
    },
    "run": {
        "id": _ID,
        "uid": _UID,
        "battery_id": _BATTERY,
        "meter_id": _METER,
        "discharge_id": ("Capacity test", "", "The test it became; missing where it did not."),
        "started_at": ("Start", "", "When the load came on, in UTC."),
        "utc_offset_minutes": _OFFSET,
        "charge_condition": _CHARGE,
        "load": _LOAD,
        "reading_every_min": ("Reading every", "min", "Time from one reading to the next."),
        "ambient_c": _AMBIENT,
        "notes": _NOTES,
        "state": ("State", "", "Where it stands."),
        "feed_hash": (
            "Feed word's SHA-256",
            "",
            "SHA-256 of the random word with which a device may send readings; missing where none.",
        ),
        "version": _VERSION,
    },
    "run_reading": {
        "id": _ID,
        "run_id": ("Running test", "", "Number of the running test."),
        "at": ("Moment", "", "When it was read, in UTC."),
        "current_a": ("Current", "A", "Current, with the sign that it was noted with."),
        "voltage_v": ("Voltage", "V", "Terminal voltage."),
        "temperature_c": ("Temperature", "°C", "Temperature of the battery."),
        "gauge_percent": ("Gauge", "%", "What the battery's own gauge showed."),
        "source": ("Source", "", "Who sent it: the page or a feed."),
        "struck_reason": ("Struck because", "", "Why it does not count; empty where it does."),
        "version": _VERSION,
    },
    "attachment": {
        "id": _ID,
        "discharge_id": _DISCHARGE,
        "name": ("File name", "", "What the file was called."),
        "sha256": _SHA256,
        "size": ("Size", "B", "Size of the file in bytes."),
    },
    "photo": {
        "id": _ID,
        "uid": _UID,
        "discharge_id": _DISCHARGE,
        "caption": ("Caption", "", "What the owner wrote below it."),
        "added_at": ("Added", "", "When it was added, in UTC."),
        "width": ("Width", "pixel", "Width of the picture."),
        "height": ("Height", "pixel", "Height of the picture."),
        "sha256": _SHA256,
        "deleted_at": _DELETED,
    },
    "place": {
        "id": _ID,
        "uid": _UID,
        "name": ("Name", "", "What the owner calls it."),
        "note": ("Note", "", "Private note."),
        "seasons": (
            "Seasons",
            "",
            "A typical year: first and last month, coolest and warmest of a usual day in °C.",
        ),
        "hours": ("Hours", "", "A typical year: hours at a temperature in °C."),
        "version": _VERSION,
        "deleted_at": _DELETED,
    },
    "stay": {
        "id": _ID,
        "uid": _UID,
        "battery_id": _BATTERY,
        "place_id": _PLACE,
        "from_date": ("From", "", "First day there; it lasts until the next stay begins."),
        "version": _VERSION,
        "deleted_at": _DELETED,
    },
    "temperature_log": {
        "id": _ID,
        "uid": _UID,
        "place_id": _PLACE,
        "source": ("Source", "", "Where the temperatures come from."),
        "said": ("Said", "", "What was assumed when they were read: sentences."),
        "gives_way": (
            "Gives way",
            "",
            "Whether another log counts where both know an hour.",
        ),
        "added_at": ("Added", "", "When it was added, in UTC."),
        "version": _VERSION,
        "deleted_at": _DELETED,
    },
    "temperature_day": {
        "id": _ID,
        "log_id": ("Log", "", "Number of the temperature log."),
        "on_date": ("Date", "", "The day by the clock of the place."),
        "celsius": (
            "Hourly means",
            "",
            "Mean temperature in °C of each of the 24 hours; a dash where none is known.",
        ),
    },
    "file_shape": {
        "id": _ID,
        "headings_hash": ("Headings' SHA-256", "", "SHA-256 of the headings in the file."),
        "uses": ("Uses", "", "What each column was taken for, in order."),
        "layout": (
            "Layout",
            "",
            "Delimiter, decimal mark and order of dates that the owner chose, as JSON.",
        ),
    },
    "setting": {
        "name": ("Name", "", "Name of the setting."),
        "value": ("Value", "", "What it is set to."),
    },
    "revision": {
        "id": _ID,
        "thing": ("Table", "", "The table of the row that was replaced."),
        "thing_id": ("Row", "", "Number of that row in its table."),
        "version": ("Version", "1", "Version of the row that was replaced."),
        "replaced_at": ("Replaced", "", "When it was replaced, in UTC."),
        "before": (
            "Row before",
            "",
            "The whole row as it was. Readings stand in a file of their own, which is named.",
        ),
    },
}
