"""Voltages at which a battery is empty must be those of the whole battery that the form names."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from app.domain import quantity
from app.domain.chemistry import Chemistry
from app.domain.i18n.message import say
from app.web.forms.form_reader import FormReader

# An empty battery shows less than its nominal voltage under load, and no maker's sheet goes below
# this share of it (common practice): 2.0 V of 3.2, 2.5 V of 3.65, 1.6 V of 2.0 lie above.
LEAST_OF_NOMINAL = 0.6
_ASKED = {
    "cut_off_v": quantity.CUT_OFF_VOLTAGE,
    "empty_under_load_v": quantity.EMPTY_VOLTAGE,
}


def check_voltages(form: FormReader, given: Mapping[str, Any]) -> None:
    """What lies outside is refused, with the battery's voltage where that of a cell was typed."""
    refused = {one.field for one in form.problems}
    if refused & {"chemistry", "nominal_v"}:
        return
    chemistry: Chemistry = given["chemistry"]
    label_v: float = given["nominal_v"]
    cells = chemistry.cells_in_series(label_v)
    # Labels round: 12 V may stand on four cells of 3.2 V.
    highest_v = max(label_v, round(cells * chemistry.nominal_cell_v, 2))
    lowest_v = round(LEAST_OF_NOMINAL * label_v, 2)
    for name, asked in _ASKED.items():
        volts = given[name]
        fits = replace(asked, low=lowest_v, high=highest_v)
        if volts is None or name in refused or fits.holds(volts):
            continue
        allowed = say("{range} for this battery", range=fits.allowed)
        pack_v = round(cells * volts, 2)
        if fits.holds(pack_v):
            allowed = say(
                "{range} for this battery; {cell_v:g} V a cell would be {pack_v:g} V",
                range=fits.allowed,
                cell_v=volts,
                pack_v=pack_v,
            )
        form.refuse(asked.label, form.raw(name), allowed, name)
