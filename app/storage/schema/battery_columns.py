"""What batteries, their events and the meters are in the records.

What an owner enters says itself what its columns are; here stands what a table has beside that.
"""

from dataclasses import replace

from app.domain import quantity as q
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import MeterDetails
from app.domain.i18n.marks import N_
from app.storage.schema.common_columns import BATTERY_ID, DELETED, ID, UID, VERSION
from app.storage.schema.described_columns import described_columns
from app.storage.schema.table_docs import TableDocs

_BATTERY = described_columns(BatteryDetails)
BATTERY = TableDocs(
    N_("Batteries"),
    N_("Battery"),
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
EVENT = TableDocs(
    N_("Events"),
    N_("Event"),
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
METER = TableDocs(
    N_("Meters"),
    N_("Meter"),
    "The meters that measured currents, and what they may be wrong by.",
    {"id": ID, "uid": UID, **described_columns(MeterDetails), "version": VERSION},
)
