"""The readings of one test, column by column."""

import math
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from hashlib import sha256

# Above this share of the load a current is the load; below it is a logger's noise at rest (common
# practice).
ON_SHARE = 0.05


def column(values: Iterable[float | None]) -> "array[float]":
    """Make a column; None becomes nan."""
    return array("d", (math.nan if value is None else value for value in values))


@dataclass(frozen=True)
class Readings:
    """Columns of equal length: seconds since the first reading, A, V, °C, gauge %.

    Times and currents are always there; in the other three nan says that nothing was read.
    The sign of the current is the logger's own. counted_ah is what a counter of amp-hours showed,
    rising or falling, where there was one; without a current of its own the current is then the
    mean of the interval before each reading. Treated as immutable.
    """

    elapsed_s: "array[float]"
    current_a: "array[float]"
    voltage_v: "array[float]"
    temperature_c: "array[float]"
    gauge_percent: "array[float]"
    counted_ah: "array[float] | None" = None

    def __len__(self) -> int:
        return len(self.elapsed_s)

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns that it has: those of every test, and the counter's where there is one."""
        return COLUMNS if self.counted_ah is None else (*COLUMNS, COUNTED)

    @cached_property
    def digest(self) -> bytes:
        """SHA-256 of all columns: equal for equal readings only."""
        digest = sha256()
        # All columns are of equal length: no value can pass from one to the next unseen.
        for name in self.columns:
            digest.update(getattr(self, name))
        return digest.digest()

    @classmethod
    def of(
        cls,
        elapsed_s: Sequence[float],
        current_a: Sequence[float],
        voltage_v: Sequence[float | None] | None = None,
        temperature_c: Sequence[float | None] | None = None,
        gauge_percent: Sequence[float | None] | None = None,
        counted_ah: Sequence[float | None] | None = None,
    ) -> "Readings":
        """Build from plain sequences; a column left out is empty."""
        nothing: list[float | None] = [None] * len(elapsed_s)
        return cls(
            column(elapsed_s),
            column(current_a),
            column(nothing if voltage_v is None else voltage_v),
            column(nothing if temperature_c is None else temperature_c),
            column(nothing if gauge_percent is None else gauge_percent),
            None if counted_ah is None else column(counted_ah),
        )


COUNTED = "counted_ah"
# The columns of every test.
COLUMNS = tuple(field.name for field in fields(Readings) if field.name != COUNTED)
