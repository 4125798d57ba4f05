"""What capacity tests, finished and running ones, are in the records, column by column."""

from app.domain import quantity as q
from app.domain.discharge import EndReason
from app.domain.marks import N_
from app.domain.run import RunState
from app.storage.common_columns import (
    AMBIENT,
    BATTERY_ID,
    CHARGE,
    COUNT,
    DELETED,
    DISCHARGE_ID,
    ID,
    LOAD,
    METER_ID,
    NOTES,
    OFFSET,
    SHA256,
    UID,
    VERSION,
    WHOLE,
)
from app.storage.described import Column, Table
from app.storage.text_rules import HASH, SENTENCES

DISCHARGE = Table(
    N_("Capacity tests"),
    N_("Capacity test"),
    "One discharge of a battery under load each. Its readings are in readings/ under its "
    "lasting name.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        "meter_id": METER_ID,
        "started_at": Column(N_("Start"), "", "When the first reading was taken, in UTC."),
        "utc_offset_minutes": OFFSET,
        "charge_condition": CHARGE,
        "end_reason": Column(N_("End reason"), "", "Why the discharge ended.", EndReason),
        "ended_after_h": Column(
            N_("Ended after"),
            "h",
            "Moment of the end after the first reading, where the owner noted one.",
        ),
        "cut_off_v": Column(
            N_("Cut-off voltage"),
            "V",
            "This test's own cut-off voltage, where it differs from the battery's.",
            q.CUT_OFF_VOLTAGE,
        ),
        "ambient_c": AMBIENT,
        "load": LOAD,
        "notes": NOTES,
        "source": Column(N_("Source"), "", "Where the readings come from."),
        "assumptions": Column(
            N_("Assumptions"), "", "What was assumed when they were read: sentences.", SENTENCES
        ),
        "left_out_reason": Column(
            N_("Left out because"),
            "",
            "Why the owner leaves the test out of the fade; empty where it counts.",
        ),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="started_at",
)
ATTACHMENT = Table(
    N_("Original files"),
    N_("Original file"),
    "The files that capacity tests came from. Their bytes are in originals/ under their SHA-256.",
    {
        "id": ID,
        "discharge_id": DISCHARGE_ID,
        "name": Column(N_("File name"), "", "What the file was called."),
        "sha256": SHA256,
        "size": Column(N_("Size"), "B", "Size of the file in bytes.", COUNT),
    },
    identity=("discharge_id", "sha256", "name"),
)
PHOTO = Table(
    N_("Photos"),
    N_("Photo"),
    "Pictures that belong to a test. They are in photos/ under their SHA-256.",
    {
        "id": ID,
        "uid": UID,
        "discharge_id": DISCHARGE_ID,
        "caption": Column(N_("Caption"), "", "What the owner wrote below it."),
        "added_at": Column(N_("Added"), "", "When it was added, in UTC."),
        "width": Column(N_("Width"), N_("pixel"), "Width of the picture.", WHOLE),
        "height": Column(N_("Height"), N_("pixel"), "Height of the picture.", WHOLE),
        "sha256": SHA256,
        "deleted_at": DELETED,
    },
    label="caption",
)
RUN = Table(
    N_("Running tests"),
    N_("Running test"),
    "Tests noted while they ran, those that have ended or were given up too.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        "meter_id": METER_ID,
        "discharge_id": Column(
            N_("Capacity test"), "", "The test it became; missing where it did not.", WHOLE
        ),
        "started_at": Column(N_("Start"), "", "When the load came on, in UTC."),
        "utc_offset_minutes": OFFSET,
        "charge_condition": CHARGE,
        "load": LOAD,
        "reading_every_min": Column(
            N_("Reading every"), "min", "Time from one reading to the next.", q.READING_EVERY
        ),
        "ambient_c": AMBIENT,
        "notes": NOTES,
        "state": Column(N_("State"), "", "Where it stands.", RunState),
        "feed_hash": Column(
            N_("Feed word's SHA-256"),
            "",
            "SHA-256 of the random word with which a device may send readings; missing where none.",
            HASH,
        ),
        "version": VERSION,
    },
    label="started_at",
)
RUN_READING = Table(
    N_("Readings of running tests"),
    N_("Reading"),
    "One reading of a running test each.",
    {
        "id": ID,
        "run_id": Column(N_("Running test"), "", "Number of the running test.", WHOLE),
        "at": Column(N_("Moment"), "", "When it was read, in UTC."),
        "current_a": Column(
            N_("Current"),
            "A",
            "Current, with the sign that it was noted with.",
            q.READING_CURRENT,
        ),
        "voltage_v": Column(N_("Voltage"), "V", "Terminal voltage.", q.READING_VOLTAGE),
        "temperature_c": Column(
            N_("Temperature"), "°C", "Temperature of the battery.", q.READING_TEMPERATURE
        ),
        "gauge_percent": Column(N_("Gauge"), "%", "What the gauge showed.", q.READING_GAUGE),
        "counted_ah": Column(
            N_("Counter"),
            "Ah",
            "What a counter of amp-hours showed.",
            q.READING_COUNT,
            added_later=True,
        ),
        "source": Column(N_("Source"), "", "Who sent it: the page or a feed."),
        "struck_reason": Column(
            N_("Struck because"), "", "Why it does not count; empty where it does."
        ),
        "meant": Column(
            N_("Meant as it stands"),
            "",
            "Whether its owner was asked about it and meant it.",
            added_later=True,
            earlier=False,
        ),
        "version": VERSION,
    },
    identity=("run_id", "at"),
    label="at",
)
