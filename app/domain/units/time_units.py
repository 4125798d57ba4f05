"""How long the units of time are, for every layer.

A minute, an hour and a day after the SI Brochure (9th edition, table 8); a year is the Julian one
of 365.25 days, which keeps ages and dates in step over leap years (IAU; from memory).
"""

from datetime import datetime

SECONDS_PER_HOUR = 3600.0
SECONDS_PER_DAY = 86_400.0
DAYS_PER_YEAR = 365.25
HOURS_PER_YEAR = 24 * DAYS_PER_YEAR
# Dates before it come from clocks that were never set.
EARLIEST_YEAR = 1970


def since_midnight_s(moment: datetime) -> float:
    """Seconds since midnight by the moment's own clock."""
    return (
        moment.hour * SECONDS_PER_HOUR
        + moment.minute * 60
        + moment.second
        + moment.microsecond / 1_000_000
    )
