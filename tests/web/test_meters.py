"""The form of a meter, whose limits stand in every result that it gave."""

from tests.web.conftest import soup
from tests.web.typed import post_test

LIMITS = ("gain_limit_percent", "offset_limit_a", "resolution_a")


def test_a_meter_can_be_added_chosen_and_changed(client, battery):
    limits = {"kind": "shunt", "offset_limit_a": "0,05", "resolution_a": "0.1"}
    client.post("/meters", data=limits | {"name": "My shunt", "gain_limit_percent": "0.5"})
    post_test(client, battery, meter="1")
    before = client.get("/api/discharges/1").json()
    assert before["meter"] == "My shunt"
    client.post("/meters/1", data=limits | {"name": "My shunt", "gain_limit_percent": "5"})
    assert client.get("/api/discharges/1").json()["standard_ah"] > 2 * before["standard_ah"]
    response = client.post("/meters", data=limits | {"name": "", "gain_limit_percent": "500"})
    assert response.status_code == 422
    assert len(soup(response).select(".problems li")) == 2


def test_a_limit_has_one_name_in_the_tables_and_in_the_form(client, battery):
    post_test(client, battery, meter="shunt")
    page = soup(client.get("/meters"))
    asked = [page.find("label", attrs={"for": name}).text for name in LIMITS]
    tables = page.select("table")
    assert len(tables) == 2
    for table in tables:
        heads = [one.text for one in table.select("thead th") if "est " in one.text]
        assert len(heads) == len(asked)
        assert all(label.startswith(head) for label, head in zip(asked, heads, strict=True))
