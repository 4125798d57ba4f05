"""One press of a button in the form of a test: everything read, every problem collected."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from io import BytesIO
from typing import BinaryIO

from fastapi import Request
from starlette.datastructures import FormData

from app.analysis.reports.discharge_report import DischargeReport
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.units.column import FOLDED_COLUMN
from app.services.entities import discharges, doubts
from app.services.entities.discharges import Original
from app.services.entities.doubts import StorageQuestion
from app.services.entities.imports import ComingTest
from app.services.exchange import upload_staging
from app.services.exchange.staged_upload import Meant, Source, StagedUpload
from app.services.store import Store
from app.web.forms.discharge_form import (
    MAX_EDITED_ROWS,
    PASTED,
    Given,
    chosen_layout,
    chosen_uses,
    read_discharge,
)
from app.web.forms.end_of_test import at_the_clock
from app.web.forms.entry_way import WAY, Way, at_the_field_of, is_noted, taken_way
from app.web.forms.file_of_test import as_rows, without_file
from app.web.forms.form_reader import asked_again, texts, upload
from app.web.forms.several_discharges import WHICH, read_several, wants_all, without_answers
from app.web.forms.typed_table import (
    MORE_ROWS,
    check_row_count,
    has_typed_rows,
    rows_with_readings,
    typed_rows,
    with_more_times,
)
from app.web.forms.typed_units import is_in_fahrenheit
from app.web.rendering.rendering import now_of, store_of, today_of


@dataclass(frozen=True)
class Step:
    """What the form came to: a test that can be stored, or the problems that stand against it.

    unused are the ways in which something was entered that the test does not take.
    """

    values: Mapping[str, str]
    staged: StagedUpload | None = None
    given: Given | None = None
    report: DischargeReport | None = None
    problems: tuple[FieldError, ...] = ()
    questions: tuple[StorageQuestion, ...] = ()
    several: tuple[ComingTest, ...] = ()
    unused: tuple[Way, ...] = ()

    @property
    def is_answered(self) -> bool:
        """Whether the owner has meant everything that can hardly be."""
        fields = [one.field for one in self.questions]
        fields += [one.field_of(about) for one in self.several for about in one.questions]
        return all(one in self.values for one in fields)

    def against(self, error: FadelineError) -> "Step":
        """The form shown again, with what went wrong while storing."""
        values = asked_again(self.values, error)
        return replace(self, values=values, given=None, problems=problems_of(error))


def take_step(request: Request, battery_id: int, form: FormData, test: Discharge | None) -> Step:
    """Read the whole form. Nothing typed is lost, whatever goes wrong."""
    values = texts(form)
    if values.get("action") == "more_rows":
        return Step(values | {"rows": str(len(typed_rows(values)) + MORE_ROWS)})
    if values.get("action") == "times":
        try:
            return Step(with_more_times(values))
        except InvalidInput as refused:
            return Step(values, problems=refused.problems)
    if values.get("action") == "counter":
        return Step(values | {FOLDED_COLUMN: "yes"})
    if values.get("action") == "drop_file":
        return Step(without_file(store_of(request), values))
    if values.get("action") == "to_rows":
        return _to_rows(request, battery_id, values)
    problems: list[FieldError] = []
    of_readings: list[FieldError] = []
    staged: StagedUpload | None = None
    source: Source | None = None
    unused: tuple[Way, ...] = ()
    try:
        way, unused = _way(form, values, test)
        values |= {WAY: way.value}
        values, staged, source = _readings(request, battery_id, form, values, way, test)
        if staged is not None and staged.discharges and wants_all(values) and test is None:
            return _all_of_them(request, battery_id, values, staged)
        if staged is not None:
            of_readings += staged.problems
    except FadelineError as error:
        of_readings += at_the_field_of(problems_of(error), values)
    before, given, report = None if test is None else test.details, None, None
    questions: tuple[StorageQuestion, ...] = ()
    try:
        # Conditions are checked even where the readings are not good yet.
        given = read_discharge(values, source, before, today_of(request))
        discharges.check_start(given.details, now_of(request))
        if source is not None:
            report = discharges.try_discharge(
                store_of(request),
                battery_id,
                given.details,
                given.meter,
                None if test is None else test.id,
            )
            questions, values = _asked(request, battery_id, given.details, source, test, values)
    except FadelineError as error:
        problems += at_the_clock(problems_of(error), values, before)
    told = _in_order_of_page(problems, of_readings)
    if given is not None:
        given = replace(given, details=doubts.with_answers(given.details, questions))
    return Step(values, staged, None if told else given, report, told, questions, unused=unused)


def _to_rows(request: Request, battery_id: int, values: dict[str, str]) -> Step:
    """The readings of a waiting file as rows, to be corrected; as it was where they do not fit."""
    try:
        values, staged, source = _waiting(request, battery_id, values)
    except FadelineError as error:
        return Step(values, problems=problems_of(error))
    rows = as_rows(values, source)
    return Step(values, staged) if rows is None else Step(rows)


def _in_order_of_page(
    of_conditions: list[FieldError], of_readings: list[FieldError]
) -> tuple[FieldError, ...]:
    """The day stands above the readings, everything else below them."""
    above = [one for one in of_conditions if one.field in ("day", "start_time", "started_at")]
    below = [one for one in of_conditions if one not in above]
    return (*above, *of_readings, *below)


def _way(
    form: FormData, values: Mapping[str, str], test: Discharge | None
) -> tuple[Way, tuple[Way, ...]]:
    """The way by which the test came in, and the others that hold something, too."""
    waiting = values.get("source", "") if values.get("staged") else None
    there = {
        Way.TYPED: has_typed_rows(values),
        Way.PASTED: bool(values.get("pasted", "").strip()) or waiting == PASTED,
        Way.FILE: upload(form, "file") is not None or waiting not in (None, PASTED),
        Way.RESULT: is_noted(values),
    }
    filled = [way for way, holds in there.items() if holds]
    # Rows that the form itself showed were not typed to be read instead of what is new.
    shown = test is not None or waiting is not None
    if shown and Way.TYPED in filled and len(filled) > 1 and WAY not in values:
        filled.remove(Way.TYPED)
    way = taken_way(values, filled)
    others = [one for one in filled if one is not way]
    if test is not None and kept_readings(test) is None and Way.TYPED in others:
        others.remove(Way.TYPED)
    return way, tuple(others)


def _all_of_them(
    request: Request, battery_id: int, values: Mapping[str, str], staged: StagedUpload
) -> Step:
    """Every discharge of a file as a test of its own."""
    problems = [one for one in staged.problems if one.field != WHICH]
    several: tuple[ComingTest, ...] = ()
    try:
        sources = upload_staging.look_at_each(
            store_of(request),
            staged.name,
            chosen_uses(values),
            _chosen_part(values),
            chosen_layout(values),
            battery_id,
        )
        several = read_several(store_of(request), battery_id, values, sources, now_of(request))
    except FadelineError as error:
        problems += problems_of(error)
    return Step(values, staged, problems=tuple(problems), several=several)


def _asked(
    request: Request,
    battery_id: int,
    details: DischargeDetails,
    source: Source,
    test: Discharge | None,
    values: dict[str, str],
) -> tuple[tuple[StorageQuestion, ...], dict[str, str]]:
    """What can hardly be; what was answered when the test was stored is not asked again."""
    store, number = store_of(request), None if test is None else test.id
    found = doubts.questions_before_storing(
        store, battery_id, details, now_of(request), number, source.power_w
    )
    if test is not None:
        answered = [one.field for one in found if one.is_answered_in(test.details)]
        values = values | dict.fromkeys(answered, "yes")
    return found, values


def kept_readings(test: Discharge | None) -> Readings | None:
    """The readings of a long log stay as they are while its conditions are edited."""
    if test is None or len(test.details.readings) <= MAX_EDITED_ROWS:
        return None
    return test.details.readings


def original_of(store: Store, step: Step) -> Original | None:
    """The file behind a step, to be kept as evidence; None where readings were typed."""
    if step.staged is None:
        return None
    name = step.values.get("source") or PASTED
    data = upload_staging.staged_bytes(store, step.staged.name)
    return Original(name, data, step.staged.header, step.staged.uses)


def _readings(
    request: Request,
    battery_id: int,
    form: FormData,
    values: dict[str, str],
    way: Way,
    test: Discharge | None,
) -> tuple[dict[str, str], StagedUpload | None, Source | None]:
    """The readings of the form: a new file or paste, a staged one, typed rows, or what was kept."""
    store = store_of(request)
    if way is Way.RESULT:
        return values | {"source": ""}, None, Source(Readings.of([], []))
    if way is not Way.TYPED:
        given, origin = _posted(form, values, way)
        if given is not None:
            staged = upload_staging.stage(store, given.read(), _chosen_part(values), battery_id)
            values = {name: text for name, text in values.items() if not name.startswith("use_")}
            values |= {"source": origin} | ({"pasted": ""} if way is Way.PASTED else {})
            return values, staged, staged.source
        if values.get("staged"):
            return _waiting(request, battery_id, values)
    check_row_count(values)
    kept = kept_readings(test)
    if way is not Way.TYPED and kept is None and not has_typed_rows(values):
        raise InvalidInput.saying(say("Paste a table or choose a file."), way.value)
    if kept is not None and not has_typed_rows(values):
        return values, None, Source(kept)
    values["source"] = ""
    return (
        values,
        None,
        upload_staging.typed_source(
            rows_with_readings(values), fahrenheit=is_in_fahrenheit(values)
        ),
    )


def _waiting(
    request: Request, battery_id: int, values: dict[str, str]
) -> tuple[dict[str, str], StagedUpload, Source | None]:
    """A file that came before, with what its owner says of its columns now."""
    if values.get("sheet", "") not in ("", values.get("shown_sheet")):
        # What was chosen is about another sheet's columns.
        values = without_answers(values) | {"sheet": values["sheet"]}
    staged = upload_staging.look_at(
        store_of(request),
        values["staged"],
        chosen_uses(values),
        _chosen_part(values),
        chosen_layout(values),
        battery_id,
    )
    return values, staged, staged.source


def _posted(form: FormData, values: Mapping[str, str], way: Way) -> tuple[BinaryIO | None, str]:
    """A new file or a new paste, and what it is called. The size is looked at first."""
    file = upload(form, "file") if way is Way.FILE else None
    if file is not None:
        upload_staging.check_size(file.size or 0)
        return file.file, (file.filename or "file")[:200]
    pasted = values.get("pasted", "") if way is Way.PASTED else ""
    return (BytesIO(pasted.encode()), PASTED) if pasted.strip() else (None, "")


def _chosen_part(values: Mapping[str, str]) -> Meant:
    """Which part of a file its owner means; anything else than an answer is asked again."""
    number = values.get(WHICH, "")
    whole = number.isascii() and number.isdigit() and len(number) < 6
    return Meant(values.get("sheet") or None, values.get("channel"), int(number) if whole else None)
