"""Sentences that are stored as they were said, in English, and said again to each reader.

Each of these texts is the same one that is said when a file is read; a test holds the two together.
"""

from app.domain.marks import N_, N_plural

KEPT: tuple[str | tuple[str, str], ...] = (
    N_("Text in {encoding}, cells between {delimiters}, decimal comma."),
    N_("Text in {encoding}, cells between {delimiters}, decimal point."),
    N_("No headings: columns were taken in the order time, A, V, °C, gauge %."),
    N_("No headings: the columns were told by their place and their values."),
    N_("The columns were taken as last time: this battery had a file with these headings."),
    N_("“{heading}” could be the current as well; it was left out."),
    N_("“{heading}” could be the voltage as well; it was left out."),
    N_("“{heading}” may be {one} or {other}, which the file does not say; it was left out."),
    N_("“{heading}” is {use}."),
    N_("Dates were read {order}."),
    N_(
        "The clock was set back an hour before {where}; the times from there on were moved on by "
        "it."
    ),
    N_(
        "The clock was set forward before {where}, as it is in this machine's time zone; the times "
        "from there on were moved back by it."
    ),
    N_plural(
        "1 row that stands twice was read once (line {line}).",
        "{count} rows that stand twice were read once (line {line}).",
    ),
    N_plural(
        "1 line of words at the end was left out.",
        "{count} lines of words at the end were left out.",
    ),
    N_plural(
        "1 row without time or current was left out (line {lines}).",
        "{count} rows without time or current were left out (line {lines}).",
    ),
    N_("Channel “{channel}” of {count} was read."),
    N_(
        "Readings {first} to {last} of {count} were picked: the discharge. Charging and rest "
        "before and after it were left out."
    ),
    N_("Only {count:,} of {logged:,} readings came with the file: the log was thinned evenly."),
    N_(
        "{count:,} temperatures from {first} to {last}, usually one every {length}: {hours:,} "
        "hourly means. They go from {low:.1f} to {high:.1f}."
    ),
    N_plural(
        "The clock goes back once, first after {moment}, by up to {length}; hours that were "
        "logged twice are averaged.",
        "The clock goes back {count} times, first after {moment}, by up to {length}; hours that "
        "were logged twice are averaged.",
    ),
    N_(
        "The times carry a zone; they were taken to this machine's clock ({start:%z} at the "
        "start), all by the same hours."
    ),
    N_("From {first} to {last} it is always {temperature:g}: is the sensor stuck?"),
    N_("So {count} times."),
    N_("Nothing from {first} to {last} ({length})."),
    N_("{count} gaps in all, together {length}; these are the longest."),
    # What the owner answered before storing.
    N_("Looked at again, and meant as it stands. {finding}"),
    # Where the readings of a test come from.
    N_("typed"),
    N_("pasted"),
    N_("invented"),
    N_("a received file, as of {as_of}"),
    N_("noted while it ran"),
    N_(
        "noted while it ran, the first reading {late_h:.2g} h after the start; what flowed before "
        "it is not counted"
    ),
)
# What stands in the places of such a sentence and has words of its own.
PARTS = (
    N_(
        "The test comes to {charge}, {times:.2g} times the rated {rated_ah:g} Ah; up to {most:g} "
        "times is possible."
    ),
    N_("The load is {usual_a:.4g} A; up to {most_a:.4g} A is usual for such a battery."),
    N_("The load is {usual_a:.4g} A; it was {last_a:.4g} A in {other}."),
    N_("Reading {row} says {volt:.4g} V; {low:.4g} to {high:.4g} V is possible under load."),
    N_("The test starts {years:.0f} years from today and from every other test."),
    N_("The test starts {years:.0f} years from today."),
    N_("the test of {day}"),
    # As these were called once.
    N_("amp-hours counted so far (current = their growth)"),
    N_("milliamp-hours counted so far (current = their growth)"),
    N_("commas"),
    N_("semicolons"),
    N_("tabs"),
    N_("bars"),
    N_("spaces"),
    N_("day first (03/04 is 3 April)"),
    N_("month first (03/04 is 4 March)"),
    N_("reading {number}"),
    N_("line {number}"),
    N_("row {number}"),
    N_("column {number}"),
    N_("{days:.0f} days"),
    N_("{hours:.0f} h"),
    N_("{minutes:.0f} min"),
    N_("{seconds:.0f} s"),
)
