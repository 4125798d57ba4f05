"""What capacity tests, finished and running ones, are in the records, column by column."""

from app.domain import quantity as q
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.run import RunDetails, RunState
from app.domain.i18n.marks import N_
from app.storage.schema.common_columns import (
    BATTERY_ID,
    COUNT,
    DELETED,
    DISCHARGE_ID,
    ID,
    METER_ID,
    SHA256,
    UID,
    VERSION,
    WHOLE,
)
from app.storage.schema.described_columns import described_columns
from app.storage.schema.table_docs import Column, TableDocs
from app.storage.schema.text_rules import HASH

DISCHARGE = TableDocs(
    N_("Capacity tests"),
    N_("Capacity test"),
    "One discharge of a battery under load each. Its readings are in readings/ under its "
    "lasting name.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        "meter_id": METER_ID,
        **described_columns(DischargeDetails),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="started_at",
)
ATTACHMENT = TableDocs(
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
PHOTO = TableDocs(
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
RUN = TableDocs(
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
        **described_columns(RunDetails),
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
RUN_READING = TableDocs(
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
            N_("Right as entered"),
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
