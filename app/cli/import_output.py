"""A table of past tests on the command line: what it becomes, and which options answer it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import typer

from app.cli.output import file_bytes
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind
from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.past_tests.answers import MIDDLE, Answers, word_field
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import DayOrder
from app.ingest.past_tests.table import open_past_tests
from app.server.store_context import opened, say_which, settings_for
from app.services.entities import batteries, meters
from app.services.entities.discharges import Original
from app.services.entities.meters import MeterChoice
from app.services.exchange import past_tests_import
from app.services.exchange.past_tests_import import ForAllRows, LookedAt
from app.services.store import Store

_OPTIONS = {"charge": "--charge", "end": "--ended", "meter": "--meter"}
_OPTION_OF = {
    "use": "--column",
    "day_order": "--day-order",
    "months": "--mid-month",
    "twice": "--twice",
    "points": "--points",
    "battery": "--channel",
    "mean_voltage_v": "--mean-voltage",
}
_IN_WORDS = (PastColumn.CHARGE, PastColumn.END, PastColumn.METER)


@dataclass(frozen=True)
class Asked:
    """What the command line says: which battery, and the answers for the table."""

    battery: str
    sheet: str | None = None
    charge: ChargeCondition | None = None
    end: EndReason | None = None
    meter: str | None = None
    day_order: DayOrder | None = None
    mean_voltage_v: float | None = None
    mid_month: bool = False
    twice: str = ""
    points: str = ""
    channel: str | None = None
    columns: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    meant: bool = False


def run_import(file: Path, asked: Asked, data_dir: Path | None, *, dry_run: bool) -> Iterator[str]:
    """Store the tests of a table and say what each row became. Raises FadelineError."""
    data = file_bytes(file)
    settings = settings_for(data_dir)
    if not settings.may_hold_records:
        raise InvalidInput.because("data folder", settings.data_dir, "one with records in it")
    say_which(settings)
    with opened(settings) as store:
        battery = battery_named(store, asked.battery)
        looked = _looked_at(store, battery, data, asked, file.name)
        _refuse_open(looked)
        yield from _rows(looked)
        meant = _everything(looked) if asked.meant else set()
        if said := past_tests_import.doubts_said(looked, meant):
            last = "Correct the table, or take it as it stands with --meant."
            raise InvalidInput(FieldError(one, "", "") for one in (*said, last))
        if dry_run:
            yield f"{len(looked.tests)} tests would be stored. Nothing was changed."
            return
        original = Original(file.name[:200], data, (), ())
        now = datetime.now(UTC)
        stored = past_tests_import.store_all(store, battery.id, looked, meant, now, original)
        yield (
            f"{len(stored)} tests of “{battery.details.name}” are stored. The page of each of them "
            "takes them all back in one step."
        )


def battery_named(store: Store, name: str) -> Battery:
    """The battery of that name, or of that number where no name is so.

    Raises InvalidInput with the names that there are, and where two share one.
    """
    everything = batteries.all_batteries(store)
    same = [one for one in everything if one.details.name.casefold() == name.strip().casefold()]
    same = same or [one for one in everything if str(one.id) == name.strip()]
    if len(same) == 1:
        return same[0]
    if same:
        numbers = " or ".join(f"--battery {one.id}" for one in same)
        raise InvalidInput.because("--battery", name, f"its number, for two share it: {numbers}")
    names = truncate("; ".join(one.details.name for one in everything), 300)
    raise InvalidInput.because(
        "--battery", name, f"one of: {names}" if names else "a battery: none is stored yet"
    )


def _looked_at(store: Store, battery: Battery, data: bytes, asked: Asked, name: str) -> LookedAt:
    answers = Answers(
        uses=_uses(store, battery, data, asked),
        day_order=asked.day_order,
        months=MIDDLE if asked.mid_month else "",
        twice=asked.twice,
        points=asked.points,
        battery=asked.channel,
        mean_voltage_v=asked.mean_voltage_v,
        words=_words(asked.words),
    )
    for_all = ForAllRows(asked.charge, asked.end, _meter(store, asked.meter))
    return past_tests_import.look_at(
        store, battery.id, data, answers, for_all, asked.sheet, name[:200], datetime.now(UTC)
    )


def _uses(
    store: Store, battery: Battery, data: bytes, asked: Asked
) -> tuple[PastColumn, ...] | None:
    """The columns as found, with those that the command line says."""
    if not asked.columns:
        return None
    table = open_past_tests(data, part=asked.sheet)
    found = past_tests_import.look_at(
        store, battery.id, data, Answers(), ForAllRows(), asked.sheet, "", datetime.now(UTC)
    )
    uses = list(found.read.uses)
    for given in asked.columns:
        use, equals, heading = given.partition("=")
        if not equals or use not in tuple(PastColumn):
            allowed = ", ".join(PastColumn)
            raise typer.BadParameter(
                f"--column: “{given}” does not fit. It needs USE=HEADING of: {allowed}."
            )
        names = [name.casefold() for name in table.header]
        heading = heading.strip()
        if heading.casefold() in names:
            index = names.index(heading.casefold())
        elif heading.isdigit() and 1 <= int(heading) <= len(names):
            index = int(heading) - 1
        else:
            known = ", ".join(name or str(i) for i, name in enumerate(table.header, start=1))
            raise InvalidInput.because("--column", heading, f"one of the headings: {known}")
        role = PastColumn(use).role
        uses = [PastColumn.IGNORE if one.role == role else one for one in uses]
        uses[index] = PastColumn(use)
    return tuple(uses)


def _words(given: tuple[str, ...]) -> dict[str, str]:
    """Words of the table by the columns they may stand in."""
    found: dict[str, str] = {}
    for one in given:
        word, equals, meaning = one.rpartition("=")
        if not equals:
            raise typer.BadParameter(f"--word: “{one}” does not fit. It needs WORD=MEANING.")
        found |= {word_field(role, word.strip()): meaning.strip() for role in _IN_WORDS}
    return found


def _meter(store: Store, name: str | None) -> MeterChoice | None:
    if name is None:
        return None
    stored = {one.details.shown_name.casefold(): one.id for one in meters.list_meters(store)}
    if name.casefold() in stored:
        return stored[name.casefold()]
    if name in tuple(MeterKind):
        return MeterKind(name)
    allowed = ", ".join((*MeterKind, *stored))
    raise InvalidInput.because("--meter", name, f"one of: {allowed}")


def _refuse_open(looked: LookedAt) -> None:
    """Raises InvalidInput with every problem, and every question by the option that answers it."""
    problems = [
        FieldError("--sheet", one.value, one.allowed) if one.field == "sheet" else one
        for one in looked.problems
    ]
    for question in looked.questions:
        option = _OPTION_OF.get(question.name, "--word")
        choices = ", ".join(_typed(question.name, one.value, looked) for one in question.choices)
        words = f"{question.words} Answer with {option}{f': {choices}' if choices else ''}."
        problems.append(FieldError(words, "", ""))
    problems += [
        FieldError(_OPTIONS[name], "", "an answer for the rows that do not say it")
        for name in looked.open_
    ]
    if problems:
        raise InvalidInput(problems)


def _typed(name: str, value: str, looked: LookedAt) -> str:
    """An answer as it is typed behind its option."""
    if name == "use":
        index, _, use = value.partition(":")
        return f'{use}="{looked.opened.header[int(index)] or int(index) + 1}"'
    return value.replace("_", "-") if name == "day_order" else value


def _everything(looked: LookedAt) -> set[str]:
    return {
        one.coming.field_of(question) for one in looked.tests for question in one.coming.questions
    }


def _rows(looked: LookedAt) -> Iterator[str]:
    for sentence in looked.read.assumptions:
        yield f"  {sentence}"
    for one in looked.tests:
        report = one.coming.report
        why = " ".join(reason.text for reason in report.reasons)
        yield f"line {one.row.row}: {one.row.day}: {report.headline}. {why}".rstrip()
    for row in looked.read.left_out:
        yield f"line {row.row}: left out, {row.why}"
