"""A battery with tests, reached through the pages."""

import pytest
from bs4 import BeautifulSoup

from app.domain.discharge import EndReason
from app.domain.meter import MeterKind
from app.services import batteries, discharges
from tests.builders import NOW, battery_details, discharge_details, steady


def soup(response):
    return BeautifulSoup(response.text, "html.parser")


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


@pytest.fixture
def tested(store, battery):
    """The battery with five tests in five years."""
    for years, hours in ((4, 12), (3, 11.5), (2, 11), (1, 10.5), (0, 10)):
        details = discharge_details(
            steady(hours=hours, step_h=0.1),
            days_ago=10 + 365 * years,
            end_reason=EndReason.PROTECTION,
        )
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    return battery
