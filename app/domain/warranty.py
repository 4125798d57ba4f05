"""What the maker promised."""

import calendar
from dataclasses import dataclass
from datetime import date, timedelta

from app.domain.units.time_units import DAYS_PER_YEAR

MONTHS_A_YEAR = 12
LAST_QUARTER_MONTHS = 3


@dataclass(frozen=True)
class Warranty:
    """Terms as the papers state them; None where they say nothing.

    From from_date, for so many years or so many full cycles, whatever comes first, it holds
    `share` (0 to 1) of the rated capacity.
    """

    from_date: date | None = None
    years: float | None = None
    share: float | None = None
    cycles: float | None = None

    @property
    def ends_on(self) -> date | None:
        """The last day of the years; None where they or their first day are not known."""
        if self.from_date is None or self.years is None:
            return None
        months = round(self.years * MONTHS_A_YEAR)
        if abs(self.years * MONTHS_A_YEAR - months) > 1e-6:
            return self.from_date + timedelta(days=round(self.years * DAYS_PER_YEAR))
        return months_after(self.from_date, months)

    @property
    def last_quarter_from(self) -> date | None:
        """The first day of its last three months."""
        end = self.ends_on
        return None if end is None else months_after(end, -LAST_QUARTER_MONTHS)


def months_after(day: date, months: int) -> date:
    """The same day of another month, or that month's last where it has no such day."""
    count = day.year * MONTHS_A_YEAR + day.month - 1 + months
    year, month = divmod(count, MONTHS_A_YEAR)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))
