"""The ways into the form of a test, of which one is taken at a time."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum

from app.domain.entities.discharge import NOTED_FIELDS, DischargeDetails
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say
from app.domain.units.column import FOLDED_COLUMN, TYPED_COLUMNS
from app.services.entities.finished_run import NOTED_RUNNING
from app.web.forms.typed_table import FILLED_TIMES

WAY = "way"


class Way(StrEnum):
    """How a test comes in; the value is what the form sends."""

    TYPED = "typed"
    PASTED = "pasted"
    FILE = "file"
    RESULT = "result"

    @property
    def label(self) -> str:
        return say(_LABELS[self])

    @property
    def words(self) -> str:
        """What was entered this way, within a sentence."""
        return say(_WORDS[self])


_LABELS = {
    Way.TYPED: N_("Type readings"),
    Way.PASTED: N_("Paste readings"),
    Way.FILE: N_("File"),
    Way.RESULT: N_("Only the result"),
}
_WORDS = {
    Way.TYPED: N_("typed readings"),
    Way.PASTED: N_("pasted readings"),
    Way.FILE: N_("a file with readings"),
    Way.RESULT: N_("a noted result"),
}
_CELL_NAMES = tuple(f"{name}_" for name in TYPED_COLUMNS)


def is_noted(values: Mapping[str, str]) -> bool:
    """Whether something of a result without readings was typed."""
    return any(values.get(name, "").strip() for name in NOTED_FIELDS)


def way_of(details: DischargeDetails) -> Way | None:
    """The way by which a stored test came in; None for one that was noted while it ran."""
    if details.is_only_result:
        return Way.RESULT
    source = str(details.source)
    if source.startswith(NOTED_RUNNING):
        return None
    return {"typed": Way.TYPED, "pasted": Way.PASTED}.get(source, Way.FILE)


def shown_way(values: Mapping[str, str]) -> Way:
    """The way that the form shows: the chosen one, else the one that was used, else the table."""
    chosen = _chosen(values)
    if chosen is not None:
        return chosen
    if values.get("pasted", "").strip():
        return Way.PASTED
    return Way.RESULT if is_noted(values) else Way.TYPED


def taken_way(values: Mapping[str, str], filled: Sequence[Way]) -> Way:
    """The way by which the test is read: the chosen one, or the only one that holds something.

    Raises InvalidInput where several do and none was chosen.
    """
    chosen = _chosen(values)
    if chosen in filled or not filled:
        return chosen or Way.TYPED
    if len(filled) > 1:
        several = joined(say(" and "), [way.words for way in filled])
        raise InvalidInput.because(say("test"), several, say("one of them"), WAY)
    return filled[0]


def of_other_ways(values: Mapping[str, str]) -> dict[str, str]:
    """What was entered in ways that are not shown while a file waits, so that it is not lost."""
    names = (*NOTED_FIELDS, "pasted", "rows", WAY, FOLDED_COLUMN, FILLED_TIMES)
    return {
        name: text
        for name, text in values.items()
        if text and (name in names or name.startswith(_CELL_NAMES))
    }


def _chosen(values: Mapping[str, str]) -> Way | None:
    return next((way for way in Way if way.value == values.get(WAY)), None)


def at_the_field_of(problems: Sequence[FieldError], values: Mapping[str, str]) -> list[FieldError]:
    """What is wrong with a text that was pasted stands at its field: there was no file."""
    pasted = _chosen(values) is Way.PASTED
    return [replace(p, field="pasted") if pasted and p.field == "file" else p for p in problems]
