"""The form of a place: a typical year by seasons or by hours, in °C or °F."""

from collections.abc import Mapping

from app.domain import quantity
from app.domain.entities.place import HoursAt, PlaceDetails, Season
from app.domain.i18n.message import say
from app.domain.units.unit import split_unit
from app.web.forms.described_form import read_fields, shown_fields
from app.web.forms.form_reader import FormReader
from app.web.forms.typed_units import CELSIUS, DEGREES, FAHRENHEIT

SEASON_ROWS, HOUR_ROWS = 12, 8
SEASON_FIELDS = ("from", "to", "night", "day")
HOUR_FIELDS = ("temperature", "hours")
MONTHS = [str(number) for number in range(1, 13)]
MAX_YEAR_H = quantity.HOURS_A_YEAR.high


def read_place(values: Mapping[str, str]) -> PlaceDetails:
    """Raises InvalidInput with every problem of the form."""
    form = FormReader(values)
    details = PlaceDetails(
        **read_fields(form, PlaceDetails),
        seasons=_seasons(form),
        hours=_hours(form),
    )
    if details.seasons and details.hours:
        form.refuse(
            say("typical year"),
            say("both seasons and hours"),
            say("one of the two: they would contradict each other"),
            "hours_0",
        )
    form.finish()
    return details


def sent_values(values: Mapping[str, str]) -> dict[str, str]:
    """What a form of a place sent; programs call the unit by the name that it had once."""
    return {DEGREES: values.get("unit", CELSIUS), **values}


def place_values(details: PlaceDetails) -> dict[str, str]:
    """What the form shows of a stored place, in °C."""
    values = shown_fields(details)
    for i, one in enumerate(details.seasons):
        row = (one.first_month, one.last_month, one.night_c, one.day_c)
        values |= {f"{n}_{i}": f"{v:.10g}" for n, v in zip(SEASON_FIELDS, row, strict=True)}
    for i, part in enumerate(details.hours):
        values[f"temperature_{i}"] = f"{part.temperature_c:.10g}"
        values[f"hours_{i}"] = f"{part.hours:g}"
    return values


def shown_seasons(values: Mapping[str, str]) -> int:
    """The rows that hold something and two more, of four at least."""
    used = (i + 1 for i in range(SEASON_ROWS) if any(values.get(f"{n}_{i}") for n in SEASON_FIELDS))
    return min(max(max(used, default=0) + 2, 4), SEASON_ROWS)


def _seasons(form: FormReader) -> tuple[Season, ...]:
    found: list[Season] = []
    taken: dict[int, int] = {}
    for i in range(SEASON_ROWS):
        if not any(form.raw(f"{name}_{i}") for name in SEASON_FIELDS):
            continue
        row = i + 1
        coolest = say("season {row}, coolest of the day", row=row)
        first = _month(form, f"from_{i}", say("season {row}, first month", row=row))
        last = _month(form, f"to_{i}", say("season {row}, last month", row=row))
        night = _temperature(form, f"night_{i}", coolest)
        warm = _temperature(form, f"day_{i}", say("season {row}, warmest of the day", row=row))
        if not form.fine:
            continue
        one = Season(first, last, night, warm)
        if night > warm:
            allowed = say("at most the warmest, {warmest}", warmest=form.raw(f"day_{i}"))
            form.refuse(coolest, form.raw(f"night_{i}"), allowed, f"night_{i}")
        twice = [month for month in one.months if month in taken]
        if twice:
            allowed = say("months that season {row} does not hold already", row=taken[twice[0]])
            given = say("month {number}", number=twice[0])
            form.refuse(say("season {row}, months", row=row), given, allowed, f"from_{i}")
        taken |= dict.fromkeys(one.months, i + 1)
        found.append(one)
    return tuple(found)


def _hours(form: FormReader) -> tuple[HoursAt, ...]:
    found: list[HoursAt] = []
    for i in range(HOUR_ROWS):
        if not any(form.raw(f"{name}_{i}") for name in HOUR_FIELDS):
            continue
        row = i + 1
        celsius = _temperature(form, f"temperature_{i}", say("row {row}, temperature", row=row))
        of_hours = say("row {row}, hours a year", row=row)
        hours = form.number(f"hours_{i}", quantity.HOURS_A_YEAR, of_hours)
        found.append(HoursAt(celsius, hours))
    total = sum(one.hours for one in found)
    if form.fine and total > MAX_YEAR_H:
        form.refuse(
            say("hours of the year together"),
            f"{total:g} h",
            say("at most {hours:g} h, which a leap year has", hours=MAX_YEAR_H),
            "hours_0",
        )
    return tuple(found)


def _month(form: FormReader, name: str, label: str) -> int:
    """A month by its number, as it is chosen from a list."""
    text = form.raw(name)
    if text in MONTHS:
        return MONTHS.index(text) + 1
    form.refuse(label, text, say("a month, 1 to 12"), name)
    return 1


def _temperature(form: FormReader, name: str, label: str) -> float:
    """A temperature in the form's unit; the range is refused in that unit."""
    value = form.number(name, quantity.PLACE_TEMPERATURE, label)
    if form.raw(DEGREES) != FAHRENHEIT and form.raw(name) and not form.fine:
        _hint_fahrenheit(form, name)
    return value


def _hint_fahrenheit(form: FormReader, name: str) -> None:
    """Nothing is guessed: a value that only makes sense as °F is refused as °C, and it is said."""
    number = quantity.parse_number(split_unit(form.raw(name))[0])
    if number is not None and quantity.PLACE_TEMPERATURE.high < number <= 176:
        form.hint(
            name,
            say(
                "; {fahrenheit:g} °F would be {celsius:.0f} °C: choose the unit",
                fahrenheit=number,
                celsius=(number - 32) / 1.8,
            ),
        )
