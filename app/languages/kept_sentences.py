"""Sentences that are stored as they were said, in English, and said again to each reader.

Each of these texts is the same one that is said when a file is read; a test holds the two together.
"""

from app.domain.i18n.marker import noted

KEPT = (
    noted("Text in {encoding}, cells between {delimiters}, decimal comma."),
    noted("Text in {encoding}, cells between {delimiters}, decimal point."),
    noted("“{name}” was unpacked and read."),
    noted("Sheet “{name}” was read, from row {number} on."),
    noted("The longest table of the page was read, from row {number} on."),
    noted("1 row below the readings was left out (row {number})."),
    noted("{count} rows below the readings were left out, from row {number} on."),
    noted("“{heading}” holds shares of 1; they were taken as percent."),
    noted("No headings: columns were taken in the order time, A, V, °C, gauge %."),
    noted("No headings: the columns were told by their place and their values."),
    noted("The columns were taken as last time: this battery had a file with these headings."),
    noted("“{heading}” could be the current as well; it was left out."),
    noted("“{heading}” could be the voltage as well; it was left out."),
    noted("“{heading}” may be {one} or {other}, which the file does not say; it was left out."),
    noted("“{heading}” is {use}."),
    noted("Dates were read {order}."),
    noted(
        "The clock was set back an hour before {where}; the times from there on were moved on by "
        "it."
    ),
    noted(
        "The clock was set forward before {where}, as it is in this machine's time zone; the times "
        "from there on were moved back by it."
    ),
    noted("1 row that stands twice was read once (line {line})."),
    noted("{count} rows that stand twice were read once (line {line})."),
    noted("1 line of words at the end was left out."),
    noted("{count} lines of words at the end were left out."),
    noted("1 row without time or current was left out (line {lines})."),
    noted("{count} rows without time or current were left out (line {lines})."),
    noted("Channel “{channel}” of {count} was read."),
    noted(
        "Readings {first} to {last} of {count} were picked: the discharge. Charging and rest "
        "before and after it were left out."
    ),
    noted(
        "Readings {first} to {last} of {count} were picked: discharge {number} of {of}. All others "
        "were left out."
    ),
    noted("Only {count:,} of {logged:,} readings came with the file: the log was thinned evenly."),
    noted(
        "{count:,} temperatures from {first} to {last}, usually one every {length}: {hours:,} "
        "hourly means. They go from {low:.1f} to {high:.1f}."
    ),
    noted(
        "The clock goes back once, first after {moment}, by up to {length}; hours that were logged "
        "twice are averaged."
    ),
    noted(
        "The clock goes back {count} times, first after {moment}, by up to {length}; hours that "
        "were logged twice are averaged."
    ),
    noted(
        "The times carry a zone; they were taken to this machine's clock ({start:%z} at the "
        "start), all by the same hours."
    ),
    noted("From {first} to {last} it is always {temperature:g}: is the sensor stuck?"),
    noted("So {count} times."),
    noted("Nothing from {first} to {last} ({length})."),
    noted("{count} gaps in all, together {length}; these are the longest."),
    # What the owner answered before storing.
    noted("Looked at again, and meant as it stands. {finding}"),
    # Where the readings of a test come from.
    noted("typed"),
    noted("pasted"),
    noted("invented"),
    noted("a received file, as of {as_of}"),
    noted("noted while it ran"),
    noted(
        "noted while it ran, the first reading {late_h:.2g} h after the start; what flowed before "
        "it is not counted"
    ),
)
# What stands in the places of such a sentence and has words of its own.
PARTS = (
    noted(
        "The test comes to {charge}, {times:.2g} times the rated {rated_ah:g} Ah; up to {most:g} "
        "times is possible."
    ),
    noted("The load is {usual_a:.4g} A; up to {most_a:.4g} A is usual for such a battery."),
    noted("The load is {usual_a:.4g} A; it was {last_a:.4g} A in {other}."),
    noted("Reading {row} says {volt:.4g} V; {low:.4g} to {high:.4g} V is possible under load."),
    noted("The test starts {years:.0f} years from today and from every other test."),
    noted("The test starts {years:.0f} years from today."),
    noted("the test of {day}"),
    # As these were called once.
    noted("amp-hours counted so far (current = their growth)"),
    noted("milliamp-hours counted so far (current = their growth)"),
    noted("commas"),
    noted("semicolons"),
    noted("tabs"),
    noted("bars"),
    noted("spaces"),
    noted("day first (03/04 is 3 April)"),
    noted("month first (03/04 is 4 March)"),
    noted("reading {number}"),
    noted("line {number}"),
    noted("row {number}"),
    noted("column {number}"),
    noted("{days:.0f} days"),
    noted("{hours:.0f} h"),
    noted("{minutes:.0f} min"),
    noted("{seconds:.0f} s"),
)
