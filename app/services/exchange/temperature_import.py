"""A logger's file on its way to a place: looked at first, stored on its owner's word."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path

from app.analysis.ageing.log_overlap import SAME_K, overlap_of
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say
from app.domain.local_clock import day_here
from app.domain.temperature_file import LogAnswers, Overlap, TemperatureColumns
from app.domain.temperature_log import HourlyTemperatures
from app.domain.units.time_units import EARLIEST_YEAR
from app.ingest.temperatures.hourly_means import ExaminedLog, examine
from app.ingest.temperatures.temperature_reader import (
    column_question,
    open_temperatures,
    read_temperatures,
)
from app.services.entities import places
from app.services.exchange import upload_staging
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import temperature_logs

EMPTY = ExaminedLog(None, (), (), (), ())


@dataclass(frozen=True)
class Seen:
    """What a file says with some answers; its text is not kept. problems are open questions."""

    header: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]
    could_be: tuple[int, ...]
    examined: ExaminedLog
    problems: tuple[FieldError, ...]
    parts: tuple[str, ...]


@dataclass(frozen=True)
class StagedTemperatures:
    """A file that waits; problems are the questions that are still open."""

    name: str
    columns: TemperatureColumns
    answers: LogAnswers
    seen: Seen
    overlap: str
    problems: tuple[FieldError, ...]


def stage(store: Store, data: bytes) -> str:
    """Keep a file's bytes for the preview. Raises InvalidInput where it holds no dated times."""
    open_temperatures(data)
    return upload_staging.keep_waiting(store, data)


def look_at(
    store: Store,
    place_id: int,
    name: str,
    columns: TemperatureColumns,
    answers: LogAnswers,
    overlap: Overlap | None,
) -> StagedTemperatures:
    """What the file says with these answers. Raises InvalidInput where it is no longer there."""
    seen = _see(str(upload_staging.staged_path(store, name)), columns, answers)
    problems, words = seen.problems, ""
    if seen.examined.hourly is not None:
        words = _overlap(store, place_id, seen.examined.hourly)
        if words and overlap is None:
            question = say("{words}. Choose which of the two counts.", words=words)
            problems = (FieldError(question, "", "", "overlap"),)
    return StagedTemperatures(name, columns, answers, seen, words, problems)


# A file that waits has a name of its own and never changes: between the preview and the owner's
# word it need not be read again.
@lru_cache(maxsize=4)
def _see(path: str, columns: TemperatureColumns, answers: LogAnswers) -> Seen:
    opened = open_temperatures(Path(path).read_bytes(), columns.day_order, columns.sheet)
    examined, problems = EMPTY, opened.problems or column_question(opened, columns)
    if not problems:
        try:
            examined = examine(read_temperatures(opened, columns), answers)
            problems = examined.problems
        except InvalidInput as refused:
            problems = refused.problems
    return Seen(opened.header, opened.sample, opened.could_be, examined, problems, opened.parts)


def store_staged(
    store: Store,
    place_id: int,
    staged: StagedTemperatures,
    source: str,
    overlap: Overlap | None,
    now: datetime,
) -> None:
    """Store the hours.

    Raises InvalidInput while a question is open, and for a log of the future.
    """
    hourly = staged.seen.examined.hourly
    if staged.problems or hourly is None:
        raise InvalidInput(staged.problems)
    last = date.fromordinal(hourly.first_day.toordinal() + hourly.days - 1)
    today = day_here(now)
    if last > today or hourly.first_day.year < EARLIEST_YEAR:
        span = say("{first} to {last}", first=hourly.first_day, last=last)
        raise InvalidInput.because(
            say("days of the log"), span, say("1970 to today ({today})", today=today), "file"
        )
    examined, gives_way = staged.seen.examined, overlap is Overlap.OLDER
    said = (*examined.said, *examined.gaps, *examined.stuck)
    places.add_log(store, place_id, source, said, hourly, now, gives_way=gives_way)
    upload_staging.drop_staged(store, staged.name)


def _overlap(store: Store, place_id: int, hourly: HourlyTemperatures) -> str:
    """What the place knows already of these hours, in words; nothing where it knows none."""
    with read_session(store.engine) as session:
        for log in temperature_logs.of_place(session, place_id):
            found = overlap_of(temperature_logs.hours(session, log.id), hourly)
            if found is not None and not found.differing:
                return say(
                    "“{source}” already holds {hours:,} of these hours, and they are the same "
                    "within {limit_k:g} K",
                    hours=found.hours,
                    source=log.source,
                    limit_k=SAME_K,
                )
            if found is not None:
                return say(
                    "“{source}” already holds {hours:,} of these hours; {differing:,} of them "
                    "differ by more than {limit_k:g} K, at most by {most_k:.1f} K",
                    hours=found.hours,
                    source=log.source,
                    differing=found.differing,
                    limit_k=SAME_K,
                    most_k=found.most_k,
                )
    return ""
