"""What a staged file says, and which part of it its owner means."""

from array import array
from dataclasses import dataclass
from datetime import datetime

from app.domain.errors import FieldError
from app.domain.readings import Readings
from app.domain.units.column import ColumnUse, CsvDialect
from app.ingest.discharge_selection import ListedDischarge
from app.ingest.row_reader import Imported


@dataclass(frozen=True)
class Source:
    """Readings with what was assumed about them, and when they began where they say it.

    power_w is the power of each reading where a file has it beside the current, ended_after_h the
    end that it says.
    """

    readings: Readings
    assumptions: tuple[str, ...] = ()
    started_at: datetime | None = None
    first_clock_s: float | None = None
    power_w: "array[float] | None" = None
    ended_after_h: float | None = None

    @classmethod
    def of(cls, read: Imported) -> "Source":
        """What was read of a file."""
        return cls(
            read.readings,
            read.assumptions,
            read.started_at,
            read.first_clock_s,
            read.power_w,
            read.ended_after_h,
        )


@dataclass(frozen=True)
class StagedUpload:
    """A file waiting for its owner's word. source is None where its columns cannot be read yet.

    parts are the sheets or packed files of which any may be meant, part is the one that was read;
    in_cells says that no delimiter or decimal mark was to be found. discharges are those among
    which the owner has to choose.
    """

    name: str
    header: tuple[str, ...]
    uses: tuple[ColumnUse, ...]
    sample: tuple[tuple[str, ...], ...]
    source: Source | None
    channels: tuple[str, ...]
    delimiter: str
    decimal: str
    layout: CsvDialect
    problems: tuple[FieldError, ...]
    parts: tuple[str, ...] = ()
    part: str = ""
    in_cells: bool = False
    discharges: tuple[ListedDischarge, ...] = ()


@dataclass(frozen=True)
class Meant:
    """Which sheet or packed file the owner means, which battery of it, which discharge of that."""

    part: str | None = None
    channel: str | None = None
    discharge: int | None = None


NOT_SAID = Meant()
