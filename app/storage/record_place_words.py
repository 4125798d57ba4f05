"""What the columns of places and their temperatures mean."""

from app.domain.noted import noted
from app.storage.record_common_words import BATTERY, DELETED, ID, PLACE, UID, VERSION, Words

PLACE_WORDS: dict[str, dict[str, Words]] = {
    "place": {
        "id": ID,
        "uid": UID,
        "name": (noted("Name"), "", "What the owner calls it."),
        "note": (noted("Note"), "", "Private note."),
        "seasons": (
            noted("Seasons"),
            "",
            "A typical year: first and last month, coolest and warmest of a usual day in °C.",
        ),
        "hours": (noted("Hours"), "", "A typical year: hours at a temperature in °C."),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    "stay": {
        "id": ID,
        "uid": UID,
        "battery_id": BATTERY,
        "place_id": PLACE,
        "from_date": (noted("From"), "", "First day there; it lasts until the next stay begins."),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    "temperature_log": {
        "id": ID,
        "uid": UID,
        "place_id": PLACE,
        "source": (noted("Source"), "", "Where the temperatures come from."),
        "said": (noted("Assumptions"), "", "What was assumed when they were read: sentences."),
        "gives_way": (
            noted("Gives way"),
            "",
            "Whether another log counts where both know an hour.",
        ),
        "added_at": (noted("Added"), "", "When it was added, in UTC."),
        "version": VERSION,
        "deleted_at": DELETED,
    },
    "temperature_day": {
        "id": ID,
        "log_id": (noted("Log"), "", "Number of the temperature log."),
        "on_date": (noted("Date"), "", "The day by the clock of the place."),
        "celsius": (
            noted("Hourly means"),
            "",
            "Mean temperature in °C of each of the 24 hours; a dash where none is known.",
        ),
    },
}
