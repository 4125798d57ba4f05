"""The form of a table of past tests: what is chosen for its columns, its rows and all of it."""

from collections.abc import Mapping

from app.domain import quantity as q
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say
from app.domain.past_tests.answers import Answers
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import DayOrder
from app.services.entities.meters import MeterChoice
from app.services.exchange.past_tests_import import ForAllRows
from app.web.forms.form_reader import FormReader

# What was answered once for the whole table, as far as it is no column and no word of it.
_ANSWERED = ("day_order", "months", "twice", "points", "battery", "mean_voltage_v")
_WORD = "word_"
_OF_COLUMNS = ("use", "guessed")


def read_answers(values: Mapping[str, str]) -> tuple[Answers, tuple[FieldError, ...]]:
    """What the owner answered about the table, and what of it is no answer."""
    form = FormReader(values)
    volts = form.optional_number("mean_voltage_v", q.MEAN_VOLTAGE)
    answers = Answers(
        uses=_uses(values),
        day_order=form.answer("day_order", DayOrder),
        months=form.raw("months"),
        twice=form.raw("twice"),
        points=form.raw("points"),
        battery=values.get("battery") or None,
        mean_voltage_v=volts if form.fine else None,
        words={name: text for name, text in values.items() if name.startswith(_WORD)},
    )
    return answers, tuple(form.problems)


def read_for_all(values: Mapping[str, str]) -> ForAllRows:
    """What holds for every row that does not say it."""
    form = FormReader(values)
    return ForAllRows(
        form.answer("charge", ChargeCondition), form.answer("end", EndReason), _meter(form)
    )


def answers_given(values: Mapping[str, str]) -> dict[str, str]:
    """The answers that are kept beside a preview on which nobody asks for them any more."""
    return {
        name: text
        for name, text in values.items()
        if text and (name in _ANSWERED or name.startswith(_WORD))
    }


def without_answers(values: Mapping[str, str]) -> dict[str, str]:
    """Without what was chosen about columns, rows and words of a table."""
    return {
        name: text
        for name, text in values.items()
        if name not in (*_ANSWERED, *_OF_COLUMNS) and not name.startswith((_WORD, "use_", "meant_"))
    }


def joined_uses(uses: tuple[PastColumn, ...]) -> str:
    """Uses as a form carries what was found, to know what its owner has changed."""
    return ",".join(uses)


def _uses(values: Mapping[str, str]) -> tuple[PastColumn, ...] | None:
    """What the owner takes each column for; None where nothing was changed or nobody was asked."""
    uses: list[PastColumn] = []
    while (value := values.get(f"use_{len(uses)}")) is not None:
        if value not in tuple(PastColumn):
            allowed = say("one of: {choices}", choices=", ".join(PastColumn))
            raise InvalidInput.because(say("columns"), value, allowed, "table")
        uses.append(PastColumn(value))
    index, _, use = values.get("use", "").partition(":")
    if index.isdecimal() and int(index) < len(uses) and use in tuple(PastColumn):
        uses[int(index)] = PastColumn(use)
    changed = joined_uses(tuple(uses)) != values.get("guessed", "")
    return tuple(uses) if uses and changed else None


def _meter(form: FormReader) -> MeterChoice | None:
    text = form.raw("meter")
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    return form.answer("meter", MeterKind)
