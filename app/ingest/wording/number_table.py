"""Many lines of numbers at once, as long as they hold nothing else."""

import io
import re

import numpy as np
from numpy.typing import NDArray

from app.ingest.wording.cells import is_missing, says_no_value

# What may make a line hold something else than numbers.
_NOT_PLAIN = re.compile(r"[^\d\s.,;:|+-]|-\D|[-.:]\s*$")


def numbers_of_bunch(
    bunch: str, mark: str, decimal: str, columns: list[int]
) -> NDArray[np.float64] | None:
    """The columns as numbers, with nan for an empty cell; None where one is no number."""
    body = bunch.replace(",", ".") if decimal == "," else bunch
    for empty in (mark + mark, mark + mark, mark + "\n"):
        body = body.replace(empty, f"{mark}nan{empty[1:]}")
    try:
        found: NDArray[np.float64] = np.loadtxt(
            io.StringIO(body),
            delimiter=mark,
            usecols=columns,
            comments=None,
            unpack=True,
            ndmin=2,
        )
    except ValueError:
        return None
    return found


def without_words(bunch: str, mark: str, columns: list[int]) -> tuple[str, int]:
    """The bunch with nan for what says that there is no value, and how often a word said so.

    Whatever else is no number stays, so that it is refused.
    """
    made, lost = [], 0
    for line in bunch[:-1].split("\n"):
        if _NOT_PLAIN.search(line):
            cells = line.split(mark)
            for index in columns:
                cell = cells[index].strip()
                if cell and is_missing(cell):
                    lost += says_no_value(cell)
                    cells[index] = "nan"
                elif "nan" in cell.casefold():
                    cells[index] = "?"
            line = mark.join(cells)
        made.append(line)
    return "\n".join(made) + "\n", lost


def with_points(mark: str) -> re.Pattern[str]:
    """A number with a point as a whole cell."""
    edge = re.escape(mark)
    return re.compile(rf"(?:^|{edge})[+-]?\d*\.\d+(?=$|{edge})", re.MULTILINE)
