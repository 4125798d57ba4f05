"""What the command line says of the end of life, from a table of tests."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import project_end
from app.cli.output import Record, file_bytes
from app.domain.threshold import Threshold, ThresholdKind
from app.ingest.history import HistoryRow, read_history


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
