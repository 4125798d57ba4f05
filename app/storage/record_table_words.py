"""What every table of the records is, in words that need no program."""

# Title, what one row is called, description.
TABLE_WORDS: dict[str, tuple[str, str, str]] = {
    "battery": ("Batteries", "Battery", "The batteries as their owner describes them."),
    "meter": (
        "Meters",
        "Meter",
        "The instruments that measured currents, and what they may be wrong by.",
    ),
    "discharge": (
        "Capacity tests",
        "Capacity test",
        "One discharge of a battery under load each. Its readings are in readings/ under its "
        "lasting name.",
    ),
    "event": ("Events", "Event", "What happened to a battery."),
    "share": (
        "Read-only links",
        "Read-only link",
        "Links to a battery's results. The token is the secret part of the address.",
    ),
    "share_beside": (
        "Batteries beside",
        "Battery beside",
        "Further batteries that a link shows beside its own.",
    ),
    "run": (
        "Running tests",
        "Running test",
        "Tests noted while they ran, finished and given up ones too.",
    ),
    "run_reading": ("Readings of running tests", "Reading", "One reading of a running test each."),
    "attachment": (
        "Original files",
        "Original file",
        "The files that capacity tests came from. Their bytes are in originals/ under their "
        "SHA-256.",
    ),
    "photo": (
        "Photos",
        "Photo",
        "Pictures that belong to a test. They are in photos/ under their SHA-256.",
    ),
    "place": ("Places", "Place", "Where batteries live, with a typical year of temperatures."),
    "stay": ("Stays", "Stay", "Which battery was at which place, from which day on."),
    "temperature_log": (
        "Temperature logs",
        "Temperature log",
        "What a logger wrote at a place; its hours are in temperature_day.",
    ),
    "temperature_day": (
        "Temperatures by the hour",
        "Day",
        "The hourly means of one day of a log each.",
    ),
    "file_shape": (
        "Known files",
        "Known file",
        "What the columns of files with the same headings were taken for, the last time.",
    ),
    "setting": (
        "Settings",
        "Setting",
        "What the owner set for the whole program. Where backups go belongs to a machine and is "
        "left out.",
    ),
    "revision": (
        "Replaced rows",
        "Replaced row",
        "What edits replaced: the whole row as it was before.",
    ),
}
