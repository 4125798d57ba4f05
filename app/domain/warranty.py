"""What the maker promised."""

from dataclasses import dataclass
from datetime import date


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
