"""Printed reports as a test reads them."""

from copy import copy

from app.domain.entities.meter import MeterKind
from app.services.entities import discharges
from tests.builders import NOW, discharge_details
from tests.web.conftest import soup


def words(tag):
    """What is read there; a term that explains itself is a word of its sentence."""
    read = copy(tag)
    for term in read.select("button.word"):
        term.unwrap()
    read.smooth()
    return " ".join(read.get_text(" ").split())


def report(client, path, query=""):
    response = client.get(f"{path}/report{query}")
    assert response.status_code == 200, response.text
    return soup(response).select_one("article.sheet")


def cells(table):
    return [[words(cell) for cell in row.select("th, td")] for row in table.select("tbody tr")]


def add(store, battery, readings=None, **changes):
    details = discharge_details(readings, **changes)
    return discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
