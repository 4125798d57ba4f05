"""What the command line says of a file's columns, and what it is asked where that is not enough."""

from collections.abc import Iterable
from dataclasses import dataclass

import typer

from app.analysis.evidence.unusable import MAX_OF_RATED
from app.analysis.plausibility.plausibility import LEAST_OF_RATED
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.amounts import charge_said
from app.domain.units.column import ColumnUse
from app.ingest.column_inference import fitting_uses
from app.ingest.headings import PLAIN, use_of_heading
from app.ingest.magnitudes import UNITS_OF_ROLE
from app.ingest.opened_file import Opened, open_file, undecided_part
from app.ingest.questions import Choice, FileQuestion
from app.ingest.reader import (
    answered,
    charge_of,
    read_each,
    read_opened,
    taken_uses,
    undecided,
    undecided_discharge,
)
from app.ingest.row_reader import Imported


@dataclass(frozen=True)
class MeantPart:
    """Which sheet or packed file is read, which battery of it, and which discharge of that."""

    sheet: str | None = None
    channel: str | None = None
    discharge: int | None = None
    every_discharge: bool = False


@dataclass(frozen=True)
class ColumnOptions:
    """Uses by heading as they were typed, the unit of the times, and what of a file is meant."""

    columns: tuple[tuple[str, str], ...] = ()
    time_use: ColumnUse | None = None
    meant: MeantPart = MeantPart()

    @classmethod
    def of(
        cls, columns: Iterable[str], time_use: ColumnUse | None, meant: MeantPart
    ) -> "ColumnOptions":
        """Read USE=HEADING; wrong usage for what is no use."""
        made = []
        for given in columns:
            use, equals, heading = given.partition("=")
            if not equals or use not in (*PLAIN, *ColumnUse):
                uses = ", ".join((*PLAIN, *(one for one in ColumnUse if one not in PLAIN)))
                wanted = f"USE=HEADING with USE one of: {uses}"
                raise typer.BadParameter(FieldError("--column", given, wanted).sentence)
            made.append((use, heading.strip()))
        return cls(tuple(made), time_use, meant)

    def read(self, data: bytes, rated_ah: float | None) -> tuple[Opened, tuple[Imported, ...]]:
        """The readings of a file: of one discharge, or of each where all are meant.

        Raises InvalidInput, with the options that answer what is open.
        """
        opened, taken = self._settled(data, rated_ah)
        if self.meant.every_discharge:
            every = read_each(opened, taken, self.meant.channel)
        else:
            every = (self._read(opened, taken),)
        if problems := undecided(every[0].channels, self.meant.channel):
            raise InvalidInput(problems)
        if not self.meant.every_discharge and (
            problems := undecided_discharge(every[0], self.meant.discharge)
        ):
            raise InvalidInput(_with_option(problems, "--discharge"))
        return opened, every

    def _settled(self, data: bytes, rated_ah: float | None) -> tuple[Opened, tuple[ColumnUse, ...]]:
        """The file with what each of its columns is, by the options and by what is plain."""
        opened = open_file(data, part=self.meant.sheet)
        if problems := undecided_part(opened, self.meant.sheet):
            raise InvalidInput(_with_option(problems, "--sheet"))
        taken, roles = taken_uses(opened, None), set()
        for use, heading in self.columns:
            choice = _choice(opened, use, heading)
            taken = answered(taken, choice)
            roles.add(choice.use.role)
        if self.time_use is not None:
            taken = answered(taken, _time_choice(opened, taken, self.time_use))
            roles.add("time")
        left = [one for one in opened.guessed.questions if one.role not in roles]
        for question in list(left):
            charges = self._charges(opened, taken, question) if len(left) == 1 else []
            plain = _only_plain(question, charges, rated_ah)
            if plain is None:
                raise InvalidInput(one.problem(_results(one, charges)) for one in left)
            taken = answered(taken, plain)
        return opened, taken

    def _read(self, opened: Opened, taken: tuple[ColumnUse, ...]) -> Imported:
        return read_opened(opened, taken, self.meant.channel, self.meant.discharge)

    def _charges(
        self, opened: Opened, taken: tuple[ColumnUse, ...], question: FileQuestion
    ) -> list[float | None]:
        found: list[float | None] = []
        for choice in question.choices:
            try:
                imported = self._read(opened, answered(taken, choice))
                found.append(charge_of(imported.readings))
            except InvalidInput:
                found.append(None)
        return found


def _with_option(problems: Iterable[FieldError], option: str) -> list[FieldError]:
    """Questions named by the option that answers them."""
    return [FieldError(option, one.value, one.allowed, one.field) for one in problems]


def _choice(opened: Opened, use: str, heading: str) -> Choice:
    """The column of an option. Raises InvalidInput for a heading that is not there, or no unit."""
    header = opened.table.header
    found = [i for i, name in enumerate(header) if name.casefold() == heading.casefold()]
    if not found and heading.isdigit() and 1 <= int(heading) <= len(header):
        found = [int(heading) - 1]
    if not found:
        names = ", ".join(name or str(i) for i, name in enumerate(header, start=1))
        raise InvalidInput.because("--column", heading, f"one of the headings: {names}")
    index = found[0]
    if use in tuple(ColumnUse):
        return Choice(index, ColumnUse(use), header[index])
    named = use_of_heading(header[index])
    named = named if named.role == use else PLAIN[use]
    fitting = fitting_uses(opened.table, index, named)
    if len(fitting) > 1:
        allowed = " or ".join(f"--column {one}={heading}" for one in fitting)
        raise InvalidInput.because("--column", f"{use}={heading}", f"its unit: {allowed}")
    return Choice(index, fitting[0], header[index])


def _time_choice(opened: Opened, taken: tuple[ColumnUse, ...], use: ColumnUse) -> Choice:
    """The column of plain times. Raises InvalidInput where the file has none."""
    open_times = [one.choices[0].index for one in opened.guessed.questions if one.role == "time"]
    known = [i for i, one in enumerate(taken) if one.role == "time"]
    index = next(iter((*open_times, *known)), None)
    if index is None or taken[index] in (
        ColumnUse.CLOCK,
        ColumnUse.EPOCH_S,
        ColumnUse.EPOCH_MS,
        ColumnUse.SERIAL_DAYS,
    ):
        raise InvalidInput.because(
            "--time-unit", use, "a column of plain times: this file has none"
        )
    return Choice(index, use, opened.table.header[index])


def _only_plain(
    question: FileQuestion, charges: list[float | None], rated_ah: float | None
) -> Choice | None:
    """The reading without a prefix, where the rated capacity leaves no other."""
    if rated_ah is None or not charges or not question.of_units or question.role == "time":
        return None
    fits = [
        choice
        for choice, charge in zip(question.choices, charges, strict=True)
        if charge is not None and LEAST_OF_RATED <= charge / rated_ah <= MAX_OF_RATED
    ]
    return fits[0] if len(fits) == 1 and fits[0].use is PLAIN[question.role] else None


def _results(question: FileQuestion, charges: list[float | None]) -> tuple[str, ...]:
    """What each answer gives, and the option that gives it."""
    given = charges or [None] * len(question.choices)
    return tuple(
        f"{option_of(choice)}" if charge is None else f"{charge_said(charge)}: {option_of(choice)}"
        for choice, charge in zip(question.choices, given, strict=True)
    )


def option_of(choice: Choice) -> str:
    """The option that says what a column is."""
    if choice.use in UNITS_OF_ROLE["time"]:
        return f"--time-unit {choice.use.removeprefix('elapsed_')}"
    heading = choice.heading or str(choice.index + 1)
    return (
        f'--column {choice.use}="{heading}"'
        if " " in heading
        else f"--column {choice.use}={heading}"
    )


def doubted(sentences: Iterable[str], opened: Opened) -> InvalidInput:
    """A refusal of what can hardly be, with the options that change how it is read."""
    current = next((i for i, use in enumerate(opened.uses) if use.role == "current"), None)
    ways = ["correct the file"]
    if current is not None:
        ways += [option_of(Choice(current, ColumnUse.CURRENT_MA, opened.table.header[current]))]
    if any(use in UNITS_OF_ROLE["time"] for use in opened.uses):
        ways += ["--time-unit s|min|h"]
    last = f"Change the reading ({', '.join(ways)}), or accept the numbers as entered with --meant."
    return InvalidInput([*(FieldError(one, "", "") for one in sentences), FieldError(last, "", "")])
