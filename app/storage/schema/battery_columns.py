"""What batteries, their events and the meters are in the records.

What an owner enters says itself what its columns are; here stands what a table has beside that.
"""

from dataclasses import replace

from app.domain import quantity as q
from app.domain.battery import BatteryDetails
from app.domain.event import Event
from app.domain.i18n.marker import noted
from app.domain.meter import MeterDetails
from app.storage.schema.common_columns import BATTERY_ID, DELETED, ID, UID, VERSION
from app.storage.schema.described_columns import described_columns
from app.storage.schema.table_docs import Table

_BATTERY = described_columns(BatteryDetails)
BATTERY = Table(
    noted("Batteries"),
    noted("Battery"),
    "The batteries as their owner describes them.",
    {
        "id": ID,
        "uid": UID,
        **_BATTERY,
        # The range of the command line: records have always written its end as a whole number.
        "end_of_life_share": replace(_BATTERY["end_of_life_share"], holds=q.END_OF_LIFE_SHARE),
        "version": VERSION,
        "deleted_at": DELETED,
    },
)
EVENT = Table(
    noted("Events"),
    noted("Event"),
    "What happened to a battery.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        **described_columns(Event),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="on_date",
)
METER = Table(
    noted("Meters"),
    noted("Meter"),
    "The meters that measured currents, and what they may be wrong by.",
    {"id": ID, "uid": UID, **described_columns(MeterDetails), "version": VERSION},
)
