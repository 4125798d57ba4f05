"""What places and their temperatures are in the records, column by column."""

from app.domain.entities.place import PlaceDetails
from app.domain.i18n.marks import N_
from app.storage.schema.common_columns import BATTERY_ID, DELETED, ID, PLACE_ID, UID, VERSION, WHOLE
from app.storage.schema.described_columns import described_columns
from app.storage.schema.table_docs import Column, TableDocs
from app.storage.schema.text_rules import DAY_OF_HOURS, SENTENCES

PLACE = TableDocs(
    N_("Places"),
    N_("Place"),
    "Where batteries live, with a typical year of temperatures.",
    {
        "id": ID,
        "uid": UID,
        **described_columns(PlaceDetails),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    added_later=True,
)
STAY = TableDocs(
    N_("Stays"),
    N_("Stay"),
    "Which battery was at which place, from which day on.",
    {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY_ID,
        "place_id": PLACE_ID,
        "from_date": Column(
            N_("From"), "", "First day there; it lasts until the next stay begins."
        ),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="from_date",
    added_later=True,
)
TEMPERATURE_LOG = TableDocs(
    N_("Temperature logs"),
    N_("Temperature log"),
    "What a logger wrote at a place; its hours are in temperature_day.",
    {
        "id": ID,
        "uid": UID,
        "place_id": PLACE_ID,
        "source": Column(N_("Source"), "", "Where the temperatures come from."),
        "said": Column(
            N_("Assumptions"), "", "What was assumed when they were read: sentences.", SENTENCES
        ),
        "gives_way": Column(
            N_("Gives way"), "", "Whether another log counts where both know an hour."
        ),
        "added_at": Column(N_("Added"), "", "When it was added, in UTC."),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    label="source",
    added_later=True,
)
TEMPERATURE_DAY = TableDocs(
    N_("Temperatures by the hour"),
    N_("Day"),
    "The hourly means of one day of a log each.",
    {
        "id": ID,
        "log_id": Column(N_("Log"), "", "Number of the temperature log.", WHOLE),
        "on_date": Column(N_("Date"), "", "The day by the clock of the place."),
        "celsius": Column(
            N_("Hourly means"),
            "",
            "Mean temperature in °C of each of the 24 hours; a dash where none is known.",
            DAY_OF_HOURS,
        ),
    },
    identity=("log_id", "on_date"),
    label="on_date",
    added_later=True,
)
