"""The page of past tests: looked at first, stored all or none, taken back in one step."""

import pytest

from app.services.entities import batteries, bin
from app.services.exchange import upload_staging
from tests.builders import NOW
from tests.ingest import workbooks
from tests.web.conftest import soup
from tests.web.typed import CONDITIONS

pytestmark = pytest.mark.any_database
HEADING = "date;Ah;temp °C;load"
ROWS = ("14.3.2023;99,1;21;lamps", "31.3.2024;96,4;18;lamps", "20.4.2025;92,0;;heater")
TABLE = "\n".join((HEADING, *ROWS, "Mean;95,8;;")) + "\n"
FOR_ALL = {"charge": "full_rested", "end": "protection", "meter": "shunt"}


def post(client, battery, **values):
    path = f"/batteries/{battery.id}/past-tests"
    return client.post(path, data=values, follow_redirects=False)


def words(response):
    return " ".join(soup(response).main.text.split())


def fields(response):
    """What the form on a page would send."""
    form = soup(response).main.find("form", enctype=True)
    sent = form.select("input[type=hidden], input[type=radio][checked]")
    values = {one["name"]: one.get("value", "") for one in sent}
    for one in form.select("select"):
        chosen = one.find("option", selected=True) or one.find("option")
        values[one["name"]] = chosen["value"]
    return values


def looked_at(client, battery, table=TABLE, **values):
    """The preview with these answers, and what its form sends."""
    first = post(client, battery, pasted=table, action="look", **values)
    return first, fields(first)


def days(store, battery):
    report = batteries.show_battery(store, battery.id, NOW.date()).report
    return [f"{one.started_at:%Y-%m-%d}" for one in report.tests]


def test_eleven_years_come_in_and_go_back(client, store, battery):
    first, values = looked_at(client, battery)
    assert first.status_code == 200
    assert "Questions about all rows" in words(first)
    second = post(client, battery, **values | FOR_ALL | {"action": "look"})
    assert second.status_code == 200
    said = words(second)
    assert "99.1 ± " in said
    assert "line 5: a sum or a mean of the rows above" in said
    assert days(store, battery) == []
    stored = post(client, battery, **fields(second) | {"action": "store"})
    assert stored.status_code == 303
    page = client.get(stored.headers["location"])
    notice = soup(page).select_one(".notice")
    assert "3 capacity tests came in together. 1 row of its table was left out" in " ".join(
        notice.p.text.split()
    )
    assert days(store, battery) == ["2023-03-14", "2024-03-31", "2025-04-20"]
    assert notice.button.text.strip() == "Take all back"
    back = client.post(notice.form["action"])
    assert "All 3 capacity tests that came in together were moved to the bin" in back.text
    assert days(store, battery) == []
    assert len(bin.list_bin(store)) == 3
    again = client.post(notice.form["action"])
    assert again.status_code == 404


def test_nothing_is_stored_while_something_is_open(client, store, battery):
    answer = post(client, battery, pasted=TABLE, action="store")
    assert answer.status_code == 422
    assert "fill in “charge before the test”" in answer.text
    _, values = looked_at(client, battery)
    again = post(client, battery, **values | {"charge": "full", "action": "store"})
    assert again.status_code == 422
    assert days(store, battery) == []


def test_continue_says_at_its_field_what_is_missing(client, store, battery):
    _, values = looked_at(client, battery)
    told = values | FOR_ALL | {"meter": "", "action": "answer"}
    answer = post(client, battery, **told)
    assert answer.status_code == 422
    assert soup(answer).find(id="meter")["aria-invalid"] == "true"
    assert "fill in “meter”" in soup(answer).find(id="problem-meter").text
    assert soup(answer).find(id="problem-charge") is None
    # What was not asked before is no omission: the question about months came alone.
    first, values = looked_at(client, battery, "Date;Ah\nAug 2023;99\n")
    assert soup(first).find(id="meter") is None
    second = post(client, battery, **values | {"months": "middle", "action": "answer"})
    assert second.status_code == 200
    assert soup(second).find(id="meter") is not None
    assert post(client, battery, **values | {"action": "answer"}).status_code == 422


def test_what_was_pasted_can_be_changed(client, battery):
    first, values = looked_at(client, battery)
    assert soup(first).find("button", value="drop_file").text.strip() == "Change the text"
    back = post(client, battery, **values | {"action": "drop_file"})
    assert soup(back).find(id="pasted").text.strip() == TABLE.strip()


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (
            "date,Ah\n2027-03-14,99\n",
            "Please check “line 2, day of the test”: “2027-03-14” does not fit",
        ),
        ("date,Ah\n2024-03-14,0\n", "a number above 0"),
        ("date,Ah\n2024-03-14,99\n2024-13-14,98\n", "line 3, day of the test"),
        ("date,temp\n2024-03-14,21\n", "a column with the amp-hours"),
        ("", "Paste a table or choose a file."),
        ("time,A,V\n" + "\n".join(f"2024-03-14 0{n}:00,9,12.{n}" for n in range(9)), "one test"),
        ("Dear diary\n", "No table of past tests found (“Dear diary”)"),
    ],
)
def test_what_is_wrong_is_refused_by_its_row_and_nothing_typed_is_lost(
    client, store, battery, table, said
):
    answer = post(client, battery, pasted=table, action="look")
    assert answer.status_code == 422
    assert said in words(answer)
    kept = soup(answer).find(id="pasted")
    staged = soup(answer).select_one("input[name=staged]")
    assert staged or kept.text.strip("\n") == table.strip("\n")
    links = [a["href"][1:] for a in soup(answer).select("#problems a")]
    assert [name for name in links if soup(answer).find(id=name) is None] == []
    assert days(store, battery) == []


def test_the_order_of_day_and_month_is_asked_once(client, store, battery):
    first, values = looked_at(client, battery, "date,Ah\n3/4/2024,99\n5/6/2025,97\n")
    assert soup(first).find(id="day_order") is not None
    answers = values | FOR_ALL | {"day_order": "month_first", "action": "look"}
    second = post(client, battery, **answers)
    assert "5 Jun 2025" not in words(second)
    assert post(client, battery, **fields(second) | {"action": "store"}).status_code == 303
    assert days(store, battery) == ["2024-03-04", "2025-05-06"]


def test_columns_can_be_taken_for_something_else(client, store, battery):
    first, values = looked_at(
        client, battery, "date,a Ah,b Ah\n2024-03-04,99,90\n2025-03-04,98,89\n"
    )
    assert soup(first).find(id="use") is not None
    unanswered = post(client, battery, **values | {"action": "look"})
    assert soup(unanswered).find(id="use") is not None
    chosen = post(client, battery, **values | FOR_ALL | {"use": "2:capacity_ah", "action": "look"})
    assert "90.0 ± " in words(chosen)
    other = fields(chosen) | {"use_1": "capacity_ah", "use_2": "ignore", "action": "look"}
    assert "99.0 ± " in words(post(client, battery, **other))


def test_what_can_hardly_be_is_asked_with_its_row(client, store, battery):
    _, values = looked_at(client, battery, "date,Ah\n2024-03-04,99\n2025-03-04,990\n")
    second = post(client, battery, **values | FOR_ALL | {"action": "store"})
    assert second.status_code == 422
    (box,) = soup(second).select("[name^=meant_]")
    assert "Line 3, 4 Mar 2025" in words(second)
    assert days(store, battery) == []
    meant = fields(second) | {box["name"]: "yes", "action": "store"}
    assert post(client, battery, **meant).status_code == 303
    assert len(days(store, battery)) == 2


def test_a_day_far_from_all_others_is_asked_but_ten_years_are_not(client, battery):
    ten = "date,Ah\n" + "\n".join(f"{year}-03-04,{100 - year % 10}" for year in range(2016, 2027))
    _, values = looked_at(client, battery, ten)
    second = post(client, battery, **values | FOR_ALL | {"action": "look"})
    assert soup(second).select("[name^=meant_]") == []
    assert "Store 11 tests" in words(second)
    _, values = looked_at(client, battery, ten + "\n2002-03-04,99\n")
    second = post(client, battery, **values | FOR_ALL | {"action": "look"})
    assert len(soup(second).select("[name^=meant_]")) == 1


def test_a_table_that_is_stored_is_not_stored_twice(client, store, battery):
    _, values = looked_at(client, battery)
    ready = fields(post(client, battery, **values | FOR_ALL | {"action": "look"}))
    assert post(client, battery, **ready | {"action": "store"}).status_code == 303
    twice = post(client, battery, **ready | {"action": "store"})
    assert twice.status_code == 303
    notice = soup(client.get(twice.headers["location"])).select_one(".notice")
    assert "stored already. Nothing was stored twice. 3 capacity tests came in" in " ".join(
        notice.p.text.split()
    )
    assert notice.button.text.strip() == "Take all back"
    assert len(days(store, battery)) == 3
    _, values = looked_at(client, battery)
    asked = post(client, battery, **values | FOR_ALL | {"action": "store"})
    assert asked.status_code == 422
    assert len(soup(asked).select("[name^=meant_]")) == 3
    assert len(days(store, battery)) == 3


def test_a_second_press_that_overtakes_the_first_is_told_the_same(
    client, store, battery, monkeypatch
):
    """The file still waits, and every row asks whether it was entered twice."""
    monkeypatch.setattr(upload_staging, "drop_staged", lambda *_: None)
    _, values = looked_at(client, battery)
    ready = fields(post(client, battery, **values | FOR_ALL | {"action": "look"}))
    post(client, battery, **ready | {"action": "store"})
    twice = post(client, battery, **ready | {"action": "store"})
    assert "done=again." in twice.headers["location"]
    assert len(days(store, battery)) == 3


def test_a_preview_that_was_taken_back_is_not_said_to_be_stored(client, store, battery):
    _, values = looked_at(client, battery)
    ready = fields(post(client, battery, **values | FOR_ALL | {"action": "look"}))
    stored = post(client, battery, **ready | {"action": "store"})
    notice = soup(client.get(stored.headers["location"])).select_one(".notice")
    client.post(notice.form["action"])
    again = post(client, battery, **ready | {"action": "store"})
    assert again.status_code == 422
    assert "a preview that is no longer there" in words(again)
    assert days(store, battery) == []


def test_two_tests_of_one_day_are_kept_and_ask_nothing_afterwards(client, store, battery):
    _, values = looked_at(client, battery, "date,Ah\n2024-03-04,99\n2024-03-04,98\n2025-03-04,97\n")
    second = post(client, battery, **values | FOR_ALL | {"action": "look"})
    assert "Two tests have the date 2024-03-04; both were kept" in words(second)
    assert post(client, battery, **fields(second) | {"action": "store"}).status_code == 303
    assert len(days(store, battery)) == 3
    assert "question open" not in client.get(f"/batteries/{battery.id}").text


def test_a_workbook_with_two_sheets_is_asked_about(client, store, battery):
    def more(book):
        workbooks.fill(book.create_sheet("Old"), (("Date", "Ah"), ("2019-03-04", 105.0)))

    data = workbooks.xlsx(
        ("Date", "Ah"), ("2024-03-04", 99.0), ("2025-03-04", 97.0), title="New", more=more
    )
    first = client.post(
        f"/batteries/{battery.id}/past-tests",
        data={"action": "look"},
        files={"file": ("tests.xlsx", data)},
    )
    assert first.status_code == 422
    values = fields(first) | FOR_ALL | {"sheet": "New", "action": "look"}
    second = post(client, battery, **values)
    assert "Store 2 tests" in words(second)
    assert post(client, battery, **fields(second) | {"action": "store"}).status_code == 303
    test = client.get("/discharges/1")
    assert "tests.xlsx" in test.text
    assert "came in with 1 other test" in words(test)


def test_meters_are_known_by_their_names_or_asked(client, battery):
    table = "date,Ah,meter\n2024-03-04,99,clamp meter\n2025-03-04,98,old box\n"
    first, values = looked_at(client, battery, table)
    assert "what does “old box” mean?" in words(first)
    (name,) = [one for one in values if one.startswith("word_")]
    answers = values | {name: "gauge", "charge": "full", "end": "protection", "action": "look"}
    second = post(client, battery, **answers)
    assert "Store 2 tests" in words(second)
    assert fields(second)[name] == "gauge"
    anew = post(client, battery, **fields(second) | {"action": "anew"})
    assert "what does “old box” mean?" in words(anew)


def test_the_battery_and_the_form_of_a_test_lead_here(client, battery):
    path = f"/batteries/{battery.id}/past-tests"
    assert path in client.get(f"/batteries/{battery.id}").text
    assert path in client.get(f"/batteries/{battery.id}/discharges/new").text
    assert client.get(path).status_code == 200
    assert client.get("/batteries/99/past-tests").status_code == 404


def test_made_up_addresses_say_nothing(client, battery):
    for done in ("came.1.abcdefgh12", "back.1.abcdefgh12", "came.99.abcdefgh12", "came.1."):
        page = client.get(f"/batteries/{battery.id}?done={done}")
        assert page.status_code == 200
        assert soup(page).select_one(".notice") is None


@pytest.mark.parametrize("table", [TABLE, "date,% of rated\n2024-03-04,99\n2025-03-04,97\n"])
def test_the_form_of_a_test_leads_a_table_of_tests_here(client, battery, table):
    values = CONDITIONS | {"pasted": table, "action": "check"}
    answer = client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert answer.status_code == 422
    assert "comes in under “Bring in past tests”" in words(answer)
    assert soup(answer).find(id="pasted").text.strip("\n") == table.strip("\n")
