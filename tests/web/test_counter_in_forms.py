"""A counter in a file counts, and stays with its test while other things of it are edited."""

from sqlmodel import Session

from app.analysis.counting.delivered import deliver
from app.storage.repositories import discharges
from tests.web.conftest import soup
from tests.web.test_edit_conflicts import form_of
from tests.web.test_files_in_forms import store_staged, upload_log
from tests.web.typed import ROWS, post_test

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


# The load was 9 A at each reading and 10 A between them, which the counter alone saw: 10 h, 100 Ah.
COUNTED = [(*row, str(10 * hour)) for hour, row in enumerate(ROWS)]


def test_a_counter_that_was_typed_counts_as_one_of_a_file(client, store, battery):
    assert post_test(client, battery, rows=COUNTED).status_code == 303
    assert stored(store) == (100, 13.2)
    assert "last minus first" in client.get("/discharges/1").text
    values = form_of(client, "/discharges/1/edit")
    assert (values["count_0"], values["count_10"]) == ("0", "100")
    values |= {f"count_{row}": "" for row in range(11)} | {"action": "store"}
    assert client.post("/discharges/1", data=values).status_code == 200
    assert stored(store) == (90, 13.2)


def test_the_counter_alone_makes_a_test(client, store, battery):
    rows = [(time, "", *rest) for time, _, *rest in COUNTED]
    assert post_test(client, battery, rows=rows).status_code == 303
    assert stored(store) == (100, 13.2)


def test_a_counter_that_was_read_now_and_then_is_told_and_not_used(client, store, battery):
    rows = [*COUNTED[:4], ROWS[4], *COUNTED[5:]]
    assert post_test(client, battery, rows=rows).status_code == 303
    assert stored(store)[0] == 90
    assert "Some readings lack the counter" in client.get("/discharges/1").text


def table_of(answer):
    return soup(answer).select_one("table.typed")


def test_the_column_is_folded_until_it_is_asked_for_or_holds_something(client, battery):
    new = client.get(f"/batteries/{battery.id}/discharges/new")
    assert "fold" in table_of(new)["class"]
    unfolded = post_test(client, battery, action="counter", rows=ROWS)
    assert "fold" not in table_of(unfolded)["class"]
    assert soup(unfolded).find(id="voltage_3")["value"] == ROWS[3][2], "nothing typed is lost"
    again = post_test(client, battery, action="check", rows=ROWS, count="yes")
    assert "fold" not in table_of(again)["class"]
    wrong = post_test(client, battery, rows=[*COUNTED[:9], (*ROWS[9], "x"), COUNTED[10]])
    assert "fold" not in table_of(wrong)["class"]
    assert "row 10, count”: “x”" in wrong.text
