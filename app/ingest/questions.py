"""What a file leaves open: a column with the readings that it allows, and how it is asked."""

from dataclasses import dataclass

from app.domain.errors import FieldError, truncate
from app.domain.i18n.message import joined, say
from app.domain.units.column import ColumnUse


@dataclass(frozen=True)
class Choice:
    """One answer: this column is that. heading is what the file calls the column."""

    index: int
    use: ColumnUse
    heading: str


@dataclass(frozen=True)
class FileQuestion:
    """Several answers, of which the file does not say which is meant.

    where says what is asked, found what stands in the file; role is what the answer fills.
    """

    role: str
    where: str
    found: str
    choices: tuple[Choice, ...]

    @property
    def of_units(self) -> bool:
        """Whether one column is asked about, and not which of several."""
        return len({choice.index for choice in self.choices}) == 1

    def problem(self, results: tuple[str, ...] = ()) -> FieldError:
        """The question as a refusal; results says what each choice would give, where known."""
        given = results or ("",) * len(self.choices)
        said = [
            say("{choice} (then {result})", choice=self._named(choice), result=result)
            if result
            else self._named(choice)
            for choice, result in zip(self.choices, given, strict=True)
        ]
        allowed = say("one of these to be chosen: {choices}", choices=joined("; ", said))
        return FieldError(self.where, truncate(self.found), allowed, f"use_{self.choices[0].index}")

    def _named(self, choice: Choice) -> str:
        if self.of_units:
            return choice.use.label
        return say("“{heading}”, {use}", heading=choice.heading, use=choice.use.label)
