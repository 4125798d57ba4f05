"""What every table of the records is, in words that need no program."""

from app.domain.noted import noted

# Title, what one row is called, description.
TABLE_WORDS: dict[str, tuple[str, str, str]] = {
    "battery": (
        noted("Batteries"),
        noted("Battery"),
        "The batteries as their owner describes them.",
    ),
    "meter": (
        noted("Meters"),
        noted("Meter"),
        "The meters that measured currents, and what they may be wrong by.",
    ),
    "discharge": (
        noted("Capacity tests"),
        noted("Capacity test"),
        "One discharge of a battery under load each. Its readings are in readings/ under its "
        "lasting name.",
    ),
    "event": (noted("Events"), noted("Event"), "What happened to a battery."),
    "share": (
        noted("Read-only links"),
        noted("Read-only link"),
        "Links to a battery's results. The token is the secret part of the address.",
    ),
    "share_beside": (
        noted("Batteries beside"),
        noted("Battery beside"),
        "Further batteries that a link shows beside its own.",
    ),
    "run": (
        noted("Running tests"),
        noted("Running test"),
        "Tests noted while they ran, those that have ended or were given up too.",
    ),
    "run_reading": (
        noted("Readings of running tests"),
        noted("Reading"),
        "One reading of a running test each.",
    ),
    "attachment": (
        noted("Original files"),
        noted("Original file"),
        "The files that capacity tests came from. Their bytes are in originals/ under their "
        "SHA-256.",
    ),
    "photo": (
        noted("Photos"),
        noted("Photo"),
        "Pictures that belong to a test. They are in photos/ under their SHA-256.",
    ),
    "place": (
        noted("Places"),
        noted("Place"),
        "Where batteries live, with a typical year of temperatures.",
    ),
    "stay": (noted("Stays"), noted("Stay"), "Which battery was at which place, from which day on."),
    "temperature_log": (
        noted("Temperature logs"),
        noted("Temperature log"),
        "What a logger wrote at a place; its hours are in temperature_day.",
    ),
    "temperature_day": (
        noted("Temperatures by the hour"),
        noted("Day"),
        "The hourly means of one day of a log each.",
    ),
    "file_shape": (
        noted("Known files"),
        noted("Known file"),
        "What the columns of files with the same headings were taken for, the last time.",
    ),
    "setting": (
        noted("Settings"),
        noted("Setting"),
        "What the owner set for the whole program. Where backups go belongs to a machine and is "
        "left out.",
    ),
    "revision": (
        noted("Replaced rows"),
        noted("Replaced row"),
        "What edits replaced: the whole row as it was before.",
    ),
}
