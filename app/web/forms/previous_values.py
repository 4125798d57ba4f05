"""Proposals from the last time: a form shows where they come from for as long as they stand."""

from collections.abc import Mapping
from dataclasses import dataclass

from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.domain.i18n.message import say
from app.web.forms.battery_form import battery_values
from app.web.forms.discharge_form import discharge_values
from app.web.forms.entry_way import WAY, way_of

# What usually repeats. Why a test ended, and how warm it was, is of each test alone.
OF_A_TEST = ("charge_condition", "meter", "load")
OF_A_BATTERY = ("reserve_percent", "end_of_life_percent", "test_interval_days")


@dataclass(frozen=True)
class LastTime:
    """Values by field, and in which words they are said to be those of the last time."""

    values: Mapping[str, str]
    words: str

    def said_of(self, shown: Mapping[str, str]) -> dict[str, str]:
        """The words, for each field that shows the value of the last time."""
        return {
            name: self.words
            for name, value in self.values.items()
            if value and shown.get(name) == value
        }


def of_test(test: Discharge | None) -> LastTime:
    """What a new test of the battery, or a run, proposes."""
    if test is None:
        return LastTime({}, "")
    values = discharge_values(test.details)
    words = say("As in the test of {day}", day=test.details.started_local.date())
    way = way_of(test.details)
    again = {name: values[name] for name in OF_A_TEST if values[name]}
    return LastTime(again | ({WAY: way.value} if way else {}), words)


def of_battery(battery: Battery | None) -> LastTime:
    """What a new battery proposes."""
    if battery is None:
        return LastTime({}, "")
    values = battery_values(battery.details)
    words = say("As for {name}", name=battery.details.name)
    return LastTime({name: values[name] for name in OF_A_BATTERY}, words)
