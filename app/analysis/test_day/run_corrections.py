"""What readings of a run said before they were corrected or struck out, in a line an edit."""

from collections.abc import Iterator, Sequence

from app.domain.entities.run import FormerReading, ReadingGiven, RunDetails, RunReading
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, joined, say

# Each value as it is written, and what stands where it was not read.
_VALUES = (
    ("current_a", N_("{value:g} A"), ""),
    ("voltage_v", N_("{value:g} V"), N_("no voltage")),
    ("temperature_c", N_("{value:.1f}"), N_("no temperature")),
    ("gauge_percent", N_("{value:g} %"), N_("no gauge")),
    ("counted_ah", N_("{value:g} Ah counted"), N_("no counter")),
)
_Stood = tuple[ReadingGiven, str]


def corrections(
    details: RunDetails, readings: Sequence[RunReading], former: Sequence[FormerReading]
) -> tuple[str, ...]:
    """Every edit of a reading in the order of the readings' times, the first edit first."""
    of_reading: dict[int, list[FormerReading]] = {}
    for one in former:
        of_reading.setdefault(one.reading_id, []).append(one)
    return tuple(
        line
        for reading in readings
        for line in _lines(details, reading, of_reading.get(reading.id, ()))
    )


def _lines(
    details: RunDetails, reading: RunReading, edits: Sequence[FormerReading]
) -> Iterator[str]:
    now = (reading.given, reading.struck_reason)
    stood = [*((one.given, one.struck_reason) for one in edits), now]
    seconds = (reading.given.at - details.started_at).total_seconds()
    minutes = max(0, round(seconds / 60))
    for edit, before, after in zip(edits, stood, stood[1:], strict=False):
        changes = joined("; ", _changes(details, before, after))
        if changes:
            yield say(
                "at {hours} h {minutes:02d} min: {changes} (changed {when})",
                hours=minutes // 60,
                minutes=minutes % 60,
                changes=changes,
                when=edit.replaced_at.astimezone(details.zone),
            )


def _changes(details: RunDetails, before: _Stood, after: _Stood) -> Iterator[str]:
    (was, was_struck), (given, struck) = before, after
    for name, form, missing in _VALUES:
        one, other = (_value(getattr(each, name), form, missing) for each in (given, was))
        if getattr(given, name) != getattr(was, name):
            yield say("{value}, was {before}", value=one, before=other)
    if given.at != was.at:
        clocks = (f"{each.at.astimezone(details.zone):%H:%M:%S}" for each in (given, was))
        yield say("read at {clock}, was {before}", clock=next(clocks), before=next(clocks))
    if struck != was_struck:
        yield (
            say("struck out: {reason}", reason=struck)
            if struck
            else say("counts again, was struck out: {reason}", reason=was_struck)
        )


def _value(value: float | None, form: str, missing: str) -> str:
    if value is None:
        return say(missing)
    return say(form, value=Celsius(value) if form == "{value:.1f}" else value)
