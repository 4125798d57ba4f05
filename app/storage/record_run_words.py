"""What the columns of running tests and their readings mean."""

from app.domain.noted import noted
from app.storage.record_common_words import (
    AMBIENT,
    BATTERY,
    CHARGE,
    ID,
    LOAD,
    METER,
    NOTES,
    OFFSET,
    UID,
    VERSION,
    Words,
)

RUN_WORDS: dict[str, dict[str, Words]] = {
    "run": {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY,
        "meter_id": METER,
        "discharge_id": (
            noted("Capacity test"),
            "",
            "The test it became; missing where it did not.",
        ),
        "started_at": (noted("Start"), "", "When the load came on, in UTC."),
        "utc_offset_minutes": OFFSET,
        "charge_condition": CHARGE,
        "load": LOAD,
        "reading_every_min": (noted("Reading every"), "min", "Time from one reading to the next."),
        "ambient_c": AMBIENT,
        "notes": NOTES,
        "state": (noted("State"), "", "Where it stands."),
        "feed_hash": (
            noted("Feed word's SHA-256"),
            "",
            "SHA-256 of the random word with which a device may send readings; missing where none.",
        ),
        "version": VERSION,
    },
    "run_reading": {
        "id": ID,
        "run_id": (noted("Running test"), "", "Number of the running test."),
        "at": (noted("Moment"), "", "When it was read, in UTC."),
        "current_a": (noted("Current"), "A", "Current, with the sign that it was noted with."),
        "voltage_v": (noted("Voltage"), "V", "Terminal voltage."),
        "temperature_c": (noted("Temperature"), "°C", "Temperature of the battery."),
        "gauge_percent": (noted("Gauge"), "%", "What the gauge showed."),
        "source": (noted("Source"), "", "Who sent it: the page or a feed."),
        "struck_reason": (
            noted("Struck because"),
            "",
            "Why it does not count; empty where it does.",
        ),
        "version": VERSION,
    },
}
