"""The readings of a running test as columns: a logger leaves a hundred thousand of them."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.domain.entities.run import RunReading

_MICROSECOND = np.timedelta64(1, "us")


@dataclass(frozen=True)
class RunColumns:
    """n readings in order of time, each column (n,).

    at: when, in UTC, to the microsecond. voltage_v, temperature_c: nan where none was read.
    meant: that the owner was asked and meant it. struck: that it does not count. has_counter: that
    it holds a counter's figure.
    """

    ids: NDArray[np.int64]
    at: NDArray[np.datetime64]
    current_a: NDArray[np.float64]
    voltage_v: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    meant: NDArray[np.bool_]
    struck: NDArray[np.bool_]
    has_counter: NDArray[np.bool_]

    @classmethod
    def of(cls, readings: Sequence[RunReading]) -> "RunColumns":
        """Of readings that are here already, in order of time."""
        return cls.of_rows(
            [
                (
                    one.id,
                    one.given.at,
                    one.given.current_a,
                    one.given.voltage_v,
                    one.given.temperature_c,
                    one.meant,
                    bool(one.struck_reason),
                    one.given.counted_ah is not None,
                )
                for one in readings
            ]
        )

    @classmethod
    def of_rows(cls, rows: Sequence[Sequence[Any]]) -> "RunColumns":
        """Of a row for each reading with these values; a moment is text in UTC, or aware.

        Raises ValueError for text that is no moment.
        """
        ids, at, amps, volts, warmth, meant, struck, counter = (
            zip(*rows, strict=True) if rows else ((),) * 8
        )
        return cls(
            np.array(ids, np.int64),
            _moments(at),
            np.array(amps, np.float64),
            np.array(volts, np.float64),
            np.array(warmth, np.float64),
            np.array(meant, np.bool_),
            np.array(struck, np.bool_),
            np.array(counter, np.bool_),
        )

    def __len__(self) -> int:
        return len(self.ids)

    @property
    def counting(self) -> "RunColumns":
        """Those that are not struck."""
        return self._taken(~self.struck) if self.struck.any() else self

    def with_more(self, more: "RunColumns") -> "RunColumns":
        """These and more of them, in whatever order they came."""
        joined = RunColumns(
            *(
                np.concatenate([getattr(self, one.name), getattr(more, one.name)])
                for one in fields(self)
            )
        )
        if not len(self) or not len(more) or more.at[0] > self.at[-1]:
            return joined
        return joined._taken(np.argsort(joined.at, kind="stable"))

    def moment(self, row: int) -> datetime:
        """When that reading was taken, aware."""
        since = int((self.at[row] - np.datetime64(0, "us")) / _MICROSECOND)
        return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=since)

    def seconds_since(self, row: int) -> NDArray[np.float64]:
        """Seconds of each reading after that one (n,)."""
        since: NDArray[np.float64] = (self.at - self.at[row]).astype(np.int64) / 1e6
        return since

    def _taken(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> "RunColumns":
        return RunColumns(*(getattr(self, one.name)[which] for one in fields(self)))


def _moments(at: Sequence[Any]) -> NDArray[np.datetime64]:
    if at and isinstance(at[0], datetime):
        at = [one.astimezone(UTC).replace(tzinfo=None) if one.tzinfo else one for one in at]
    return np.array(at, "datetime64[us]")
