"""A counter in a file counts, and stays with its test while other things of it are edited."""

from sqlmodel import Session

from app.analysis.delivered import deliver
from app.storage import discharges
from tests.web.conftest import soup
from tests.web.test_files_in_forms import store_staged, upload_log
from tests.web.test_two_pages import form_of

LOG = "time (h);Ah;V\n0;0;13.3\n0.1;2;13.2\n0.3;3;13.2\n2;20;13.1\n9.5;91;12.8\n10;96;11.9\n"


def stored(store):
    with Session(store.engine) as session:
        readings = discharges.get(session, 1).details.readings
    return deliver(readings).charge_ah, readings.voltage_v[0]


def test_a_counter_is_stored_and_outlives_an_edit_of_the_voltages(client, store, battery):
    store_staged(client, battery, soup(upload_log(client, battery, LOG)))
    assert stored(store) == (96, 13.3)
    values = form_of(client, "/discharges/1/edit") | {"voltage_0": "13.4", "action": "store"}
    assert client.post("/discharges/1", data=values).status_code == 200
    assert stored(store) == (96, 13.4)
