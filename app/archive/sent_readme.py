"""README.txt of the data that a file to send carries, for somebody without this program."""

from app.archive.readme import lines_for_everybody
from app.domain.records.sent_battery import SentBattery

_START = """\
CAPACITY TESTS OF ONE BATTERY

These are the data behind a file that shows the capacity tests of one house
battery. A capacity test is a discharge under load, with volts and amperes
read on the way. With them every figure in that file can be checked; nothing
here needs a special program.
"""
_PARTS = """\
WHAT IS IN IT

tables/battery.csv     The battery: its rated capacity, what it must still
                       hold, and how its tests are corrected.
tables/meter.csv       The meters, by kind, and what they may be wrong by.
tables/discharge.csv   How each test was done.
tables/event.csv       What happened to the battery.
readings/              The readings of all tests. The column "test" is the
                       lasting name of the test: uid in tables/discharge.csv.
datapackage.json       Describes each column with its type, unit and meaning,
                       after the open Data Package standard.
"""
_CELLS = """\
HOW TO READ A CELL

Text is UTF-8. Times are in UTC; adding utc_offset_minutes gives the clock of
the place. Numbers have a decimal point. In tables/ the word NULL means that
nothing was entered; in readings/ an empty cell means that nothing was read.
Shares are fractions: 0.8 is 80 %.

The amp-hours of a test are the area under current_a over elapsed_s (in
seconds, divided by 3600), from load on to load off.
"""


def sent_readme(sent: SentBattery) -> str:
    """The whole text."""
    return lines_for_everybody((_START, _PARTS, _CELLS, *_thinned(sent)))


def _thinned(sent: SentBattery) -> tuple[str, ...]:
    if not sent.thinned:
        return ()
    return (
        "NOT ALL READINGS\n\n"
        f"Only {sent.carried:,} of {sent.logged:,} readings are here: those of long tests were "
        "thinned\nevenly to keep the file small. The figures in the file were computed from all of "
        "them.",
    )
