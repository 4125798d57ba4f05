"""The table of appliances in the form of a battery: rows to appliances and back."""

from collections.abc import Mapping

from app.domain import quantity
from app.domain.appliance import Appliance
from app.domain.i18n.message import say
from app.domain.limits import MAX_NAME_LENGTH
from app.web.forms.form_reader import FormReader, typed

FIRST_ROWS = 4
MORE_ROWS = 4
MAX_ROWS = 60
COLUMNS = ("appliance", "appliance_a", "appliance_w", "appliance_h")


def appliance_rows(values: Mapping[str, str], more: int = 0) -> tuple[tuple[str, ...], ...]:
    """What was typed, as many rows as the form had (at least the first few)."""
    try:
        count = int(values.get("rows", ""))
    except ValueError:
        count = FIRST_ROWS
    count = min(max(count, FIRST_ROWS) + more, MAX_ROWS)
    return tuple(
        tuple(values.get(f"{name}_{i}", "").strip() for name in COLUMNS) for i in range(count)
    )


def read_appliances(form: FormReader) -> tuple[Appliance, ...]:
    """The rows that are not empty; what is wrong with one is told by its number."""
    if form.raw(f"{COLUMNS[0]}_{MAX_ROWS}"):
        form.refuse(
            say("appliances"),
            say("more"),
            say("at most {count} rows", count=MAX_ROWS),
            f"{COLUMNS[0]}_0",
        )
    found = []
    for i in range(MAX_ROWS):
        if any(form.raw(f"{name}_{i}") for name in COLUMNS):
            found.append(_appliance(form, i))
    return tuple(found)


def _appliance(form: FormReader, i: int) -> Appliance:
    of_name = say("name of the appliance in row {row}", row=i + 1)
    name = form.text(f"appliance_{i}", of_name, MAX_NAME_LENGTH, required=True)
    of_current = say("current of the appliance in row {row}", row=i + 1)
    current = form.optional_number(f"appliance_a_{i}", quantity.APPLIANCE_CURRENT, of_current)
    of_power = say("power of the appliance in row {row}", row=i + 1)
    power = form.optional_number(f"appliance_w_{i}", quantity.APPLIANCE_POWER, of_power)
    amps, watts = form.raw(f"appliance_a_{i}"), form.raw(f"appliance_w_{i}")
    if bool(amps) == bool(watts):
        given = say("{amps} A and {watts} W", amps=amps, watts=watts) if amps else ""
        allowed = say("either its current in A or its power in W")
        of_either = say("current or power of the appliance in row {row}", row=i + 1)
        form.refuse(of_either, given, allowed, f"appliance_a_{i}")
    of_hours = say("hours a day of the appliance in row {row}", row=i + 1)
    hours = form.number(f"appliance_h_{i}", quantity.APPLIANCE_HOURS, of_hours)
    return Appliance(name, hours, current, power)


def appliance_values(appliances: tuple[Appliance, ...]) -> dict[str, str]:
    """What the table shows of stored appliances."""

    def shown(value: float | None) -> str:
        return typed(None if value is None else float(f"{value:.10g}"), quantity.APPLIANCE_POWER)

    values = {"rows": str(max(FIRST_ROWS, len(appliances) + 1))}
    for i, one in enumerate(appliances):
        cells = (one.name, shown(one.current_a), shown(one.power_w), shown(one.hours_a_day))
        values |= {f"{name}_{i}": cell for name, cell in zip(COLUMNS, cells, strict=True)}
    return values
