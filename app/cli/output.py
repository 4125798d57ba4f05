"""What the command line prints: plain records from files, as JSON or as words."""

import json
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import typer

from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import project_end
from app.domain.errors import FadelineError, InvalidInput
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.domain.threshold import Threshold, ThresholdKind
from app.ingest.history import HistoryRow, read_history
from app.ingest.text import too_large
from app.server.terminal import echo

Record = dict[str, Any]
Item = TypeVar("Item")
Made = TypeVar("Made")


def print_json(value: object) -> None:
    echo(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))


def read_history_file(file: Path) -> dict[str, list[HistoryRow]]:
    """Tests by battery. Raises InvalidInput."""
    return read_history(file_bytes(file))


def projection_record(battery: str, rows: Sequence[HistoryRow], end_of_life: float) -> Record:
    """Project one battery's end of life; end_of_life is a share of the fitted first capacity."""
    points = [
        TrendPoint(
            day=float(row.on_date.toordinal()),
            capacity_ah=row.capacity_ah,
            standard_ah=row.standard_uncertainty_ah,
            independent_ah=row.standard_uncertainty_ah,
            kind=row.kind,
        )
        for row in rows
    ]
    fade = fit_fade(points)
    words = f"{end_of_life:g} of the first fitted capacity"
    threshold = Threshold(ThresholdKind.FIRST_TEST, words, share=end_of_life)
    as_of = max(row.on_date for row in rows)
    end = project_end(points, fade, threshold, as_of)
    return {
        "battery": battery,
        "tests": len(rows),
        "measured": fade.measured,
        "lower_bounds": fade.lower_bounds,
        "rate_percent_per_year": {
            "estimate": fade.rate_percent_per_year,
            "low": fade.low,
            "high": fade.high,
            "level": fade.level,
        },
        "end_of_life": {
            "outcome": end.outcome.value,
            "threshold_ah": end.threshold_ah,
            **{name: _iso(getattr(end, name)) for name in ("p05", "p25", "p50", "p75", "p95")},
            "chance_above_at_last_test": end.chance_above_today,
            "mostly_prior": end.mostly_prior,
            "belief_before_any_test": "lithium iron phosphate",
        },
        "fade_words": fade.words,
        "end_of_life_words": end.words,
        "caveats": [caveat.text for caveat in (*fade.caveats, *end.caveats)],
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def projection_text(record: Record) -> str:
    """One battery's record in words."""
    return (
        f"{record['battery']}: {record['tests']} tests. {record['fade_words']} "
        f"End of life: {record['end_of_life_words']}"
    )


def file_bytes(file: Path) -> bytes:
    try:
        size = file.stat().st_size
        if size > UPLOAD_LIMIT_MB * 1_000_000:
            raise too_large(size)
        return file.read_bytes()
    except OSError as error:
        raise InvalidInput.because("file", file, f"a readable file ({error.strerror})") from error


def each_named(
    items: Sequence[Item],
    name: Callable[[Item], str],
    label: str,
    work: Callable[[Item], Made],
) -> tuple[list[Made], int]:
    """Work through items with a progress bar; one that fails is named and the rest goes on."""
    records: list[Made] = []
    failed = 0
    hidden = len(items) < 2 or not sys.stderr.isatty()
    with typer.progressbar(items, label=label, file=sys.stderr, hidden=hidden) as bar:
        for item in bar:
            try:
                records.append(work(item))
            except FadelineError as error:
                failed += 1
                echo(f"{name(item)}: {error}", err=True)
    return records, failed
