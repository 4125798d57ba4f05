"""Pasted columns and files in the form of a test: previewed, put right, kept."""

import hashlib

import pytest

from tests.ingest import test_several_discharges, test_workbooks, workbooks
from tests.web.conftest import refusals_of, soup
from tests.web.typed import CONDITIONS, PASTE, as_sent, post_test


def paste(client, battery, **more):
    values = CONDITIONS | {"action": "check", "pasted": PASTE} | more
    return client.post(f"/batteries/{battery.id}/discharges", data=values, follow_redirects=False)


def test_pasted_columns_are_previewed_with_what_was_assumed(client, battery):
    page = soup(paste(client, battery))
    assert "decimal comma" in page.select_one(".preview").text
    selects = page.select("select[name^=use_]")
    assert [s.select_one("option[selected]")["value"] for s in selects] == [
        "clock",
        "current_a",
        "voltage_v",
    ]


def test_a_second_current_at_one_time_is_refused_in_what_was_pasted_and_typed(client, battery):
    """Both rows and both values are named, and nothing is stored."""
    twice = PASTE.splitlines()
    twice.insert(5, "3:00\t19,0\t12,2")
    refused = paste(client, battery, pasted="\n".join(twice))
    said = refusals_of(soup(refused))
    assert "line 6, current" in said
    assert "19,0 at 3:00" in said
    assert "line 5 says 9,0 at 3:00" in said
    rows = [(f"{h}:00", "9.0", "12.5") for h in range(11)]
    rows.insert(4, ("3:00", "19.0", "12.5"))
    refused = post_test(client, battery, rows=rows)
    said = refusals_of(soup(refused))
    assert "row 5, current" in said
    assert "row 4 says 9.0 at 3:00" in said
    assert client.get("/api/discharges/1").status_code == 404


def test_a_preview_can_be_changed_and_then_stored(client, battery):
    page = soup(paste(client, battery))
    staged = page.find(attrs={"name": "staged"})["value"]
    uses = {"use_0": "clock", "use_1": "current_ma", "use_2": "ignore"}
    values = CONDITIONS | {"action": "store", "staged": staged, "source": "pasted"} | uses
    response = client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert response.status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["delivered_ah"] == pytest.approx(0.09)
    assert report["rows"][0]["voltage_v"] is None
    assert any("mA" in said for said in report["assumptions"])


def test_a_slip_in_a_file_is_corrected_in_rows_of_its_own_times(client, battery):
    slip = "time\tA\tV\n" + "\n".join(
        f"{8 + h}:15\t9,0\t{'1325' if h == 3 else f'{13 - h / 4:.2f}'.replace('.', ',')}"
        for h in range(11)
    )
    form = soup(paste(client, battery, pasted=slip, start_time="")).select_one("main form")
    assert form.select_one(".questions")
    assert form.select_one("button[value=to_rows]")
    shown = client.post(
        f"/batteries/{battery.id}/discharges", data=as_sent(form) | {"action": "to_rows"}
    )
    rows = as_sent(soup(shown).select_one("main form"))
    assert [rows["time_0"], rows["time_3"], rows["voltage_3"]] == ["08:15", "11:15", "1325"]
    assert "staged" not in rows
    rows |= {"voltage_3": "13.25", "action": "store", "start_time": ""}
    assert client.post(f"/batteries/{battery.id}/discharges", data=rows).status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["rows"][3]["voltage_v"] == 13.25
    assert report["delivered_ah"] == pytest.approx(90)


def test_a_preview_whose_file_is_gone_is_a_sentence(client, battery):
    values = CONDITIONS | {"action": "store", "staged": "../../etc/passwd-and-more"}
    response = client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert response.status_code == 422
    assert "a preview that is no longer there" in response.text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty file"),
        (b"\x89PNG\x00\x01\x02" * 50, "This is not text. Fadeline reads text"),
        (b"time_s,voltage_v\n0,13\n60,13\n", "one column with the current"),
        (b"time_s,A\n0,9\n60,9\n120,-9\n180,9\n", "current in reading 3"),
        (b"0" * 70_000_000, "This file has 70 MB; Fadeline reads at most 64 MB"),
    ],
)
def test_a_bad_file_is_a_sentence_and_nothing_typed_is_lost(client, battery, data, words):
    response = client.post(
        f"/batteries/{battery.id}/discharges",
        data=CONDITIONS | {"action": "check", "load": "a kettle"},
        files={"file": ("log.csv", data)},
    )
    assert response.status_code == 422
    assert words in soup(response).text
    assert soup(response).find(id="load")["value"] == "a kettle"


def test_a_paste_without_a_table_is_refused_at_its_own_field(client, battery):
    page = soup(paste(client, battery, pasted="Dear diary"))
    assert "begins with “Dear diary”" in page.select_one("#problem-pasted").text
    assert page.find(id="pasted")["aria-invalid"] == "true"
    assert not page.select("#problem-file")


@pytest.mark.parametrize("way", ["pasted", "file"])
def test_nothing_pasted_and_no_file_is_told_so_at_that_field(client, battery, way):
    values = CONDITIONS | {"action": "check", "way": way}
    page = soup(client.post(f"/batteries/{battery.id}/discharges", data=values))
    assert page.select_one(f"#problem-{way}").text == "Paste a table or choose a file."


def test_a_file_and_a_start_that_contradict_each_other_are_refused(client, battery):
    text = "time,A,V\n2026-10-03 08:00,9,13\n2026-10-03 09:00,9,13\n2026-10-03 10:00,9,13\n"
    page = soup(paste(client, battery, pasted=text))
    said = page.select_one("#problem-day").text
    assert "The readings begin on 2026-10-03" in said
    assert "Correct “Day”, or clear it" in said
    page = soup(paste(client, battery, pasted=text, day="", start_time=""))
    assert not page.select(".problems")


def test_a_year_that_cannot_be_is_refused(client, battery):
    text = "time,A\n0001-01-01 00:00,9\n0001-01-01 01:00,9\n"
    page = soup(paste(client, battery, pasted=text, day="", start_time=""))
    assert "from 1970" in refusals_of(page)


def test_columns_that_cannot_be_read_can_be_put_right(client, battery):
    text = "a;b;c\n0;10;13\n1;10;13\n2;10;12\n"
    page = soup(paste(client, battery, pasted=text))
    assert "one column with the time" in refusals_of(page)
    staged = page.find(attrs={"name": "staged"})["value"]
    uses = {"use_0": "elapsed_h", "use_1": "current_a", "use_2": "voltage_v"}
    values = CONDITIONS | {"action": "store", "staged": staged, "source": "pasted"} | uses
    assert client.post(f"/batteries/{battery.id}/discharges", data=values).status_code == 200
    assert client.get("/api/discharges/1").json()["delivered_ah"] == pytest.approx(20)


def test_using_other_readings_brings_a_paste_back(client, battery):
    page = soup(paste(client, battery))
    staged = page.find(attrs={"name": "staged"})["value"]
    values = CONDITIONS | {"action": "drop_file", "staged": staged, "source": "pasted"}
    page = soup(client.post(f"/batteries/{battery.id}/discharges", data=values))
    assert page.find(id="pasted").text.split() == PASTE.split()


def test_typed_and_pasted_readings_at_once_are_refused_and_both_kept(client, battery):
    page = soup(post_test(client, battery, pasted=PASTE))
    assert "one of them" in refusals_of(page)
    assert page.find(id="pasted").text.split() == PASTE.split()
    assert page.find(id="current_3")["value"] == "9,0"


def test_editing_the_conditions_keeps_where_the_readings_came_from(client, battery):
    page = soup(paste(client, battery))
    staged = page.find(attrs={"name": "staged"})["value"]
    values = CONDITIONS | {"action": "store", "staged": staged, "source": "pasted"}
    client.post(f"/batteries/{battery.id}/discharges", data=values)
    page = soup(client.get("/discharges/1/edit"))
    values = as_sent(page.select_one("main form"))
    client.post("/discharges/1", data=values | {"action": "store", "load": "kettle"})
    report = client.get("/api/discharges/1").json()
    assert (report["load"], report["source"]) == ("kettle", "pasted")
    assert report["assumptions"]


def upload_log(client, battery, text=None, **more):
    text = PASTE.replace("\t", ";") if text is None else text
    return client.post(
        f"/batteries/{battery.id}/discharges",
        data=CONDITIONS | {"action": "check"} | more,
        files={"file": ("my log — é.csv", text.encode())},
    )


def store_staged(client, battery, page, **more):
    staged = page.find(attrs={"name": "staged"})["value"]
    source = page.find(attrs={"name": "source"})["value"]
    values = CONDITIONS | {"action": "store", "staged": staged, "source": source} | more
    return client.post(f"/batteries/{battery.id}/discharges", data=values)


def test_the_original_file_is_kept_as_evidence(client, battery):
    page = soup(upload_log(client, battery))
    assert page.select_one(".preview figure.chart")
    page = soup(store_staged(client, battery, page))
    link = page.find("a", string="my log — é.csv")
    response = client.get(link["href"])
    original = PASTE.replace("\t", ";").encode()
    assert response.content == original
    assert hashlib.sha256(original).hexdigest() in page.text
    assert client.get("/files/99").status_code == 404


def test_the_next_file_of_the_same_shape_is_read_as_the_last(client, battery):
    text = "a;b;c\n0;10;13\n1;10;13\n2;10;12\n"
    page = soup(upload_log(client, battery, text))
    assert page.select(".problems")
    uses = {"use_0": "elapsed_h", "use_1": "current_a", "use_2": "voltage_v"}
    store_staged(client, battery, page, **uses)
    page = soup(upload_log(client, battery, text, day="2026-11-02"))
    assert not page.select(".problems")
    chosen = [s.select_one("option[selected]")["value"] for s in page.select("select[name^=use_]")]
    assert chosen == list(uses.values())


def test_the_layout_of_a_file_can_be_overruled(client, battery):
    text = "time;A;V\n03/04/2026 08:00;9;13\n03/04/2026 09:00;9;13\n03/04/2026 10:00;9;12\n"
    page = soup(upload_log(client, battery, text, day="", start_time=""))
    chosen = {
        s["name"]: s.select_one("option[selected]")["value"] for s in page.select("select[name]")
    }
    assert (chosen["delimiter"], chosen["decimal"]) == (";", ".")
    store_staged(client, battery, page, day="", start_time="", day_order="month_first")
    assert client.get("/api/discharges/1").json()["started_at"].startswith("2026-03-04T08:00")


def test_another_delimiter_brings_other_columns_or_a_problem_and_keeps_the_file(client, battery):
    text = "time,A;x;y\n0:00,9;1;2\n1:00,9;1;2\n2:00,9;1;2\n"
    page = soup(upload_log(client, battery, text))
    staged = page.find(attrs={"name": "staged"})["value"]
    values = CONDITIONS | {"action": "check", "staged": staged, "source": "log"}
    page = soup(
        client.post(f"/batteries/{battery.id}/discharges", data=values | {"delimiter": ";"})
    )
    assert [th.text for th in page.select("fieldset#readings thead th")] == ["time,A", "x", "y"]
    page = soup(
        client.post(f"/batteries/{battery.id}/discharges", data=values | {"delimiter": "|"})
    )
    assert "lines with a time and a current" in refusals_of(page)
    assert page.find(attrs={"name": "staged"})["value"] == staged


def upload_book(client, battery, data, **more):
    return client.post(
        f"/batteries/{battery.id}/discharges",
        data=CONDITIONS | {"action": "check"} | more,
        files={"file": ("log.xlsx", data)},
    )


def answer(client, battery, page, **more):
    """The form as it stands, with some fields answered."""
    values = {
        one["name"]: one.get("value", "")
        for one in page.select("form input[name]")
        if one["name"] != "file"
    }
    for one in page.select("form select[name]"):
        chosen = one.select_one("option[selected]") or one.select_one("option")
        values[one["name"]] = chosen["value"]
    return client.post(f"/batteries/{battery.id}/discharges", data=values | more)


def test_a_workbook_is_previewed_stored_and_given_back_as_it_came(client, battery):
    data = workbooks.xlsx(workbooks.HEADINGS, *workbooks.ROWS)
    page = soup(upload_book(client, battery, data, day="", start_time=""))
    assert "Sheet “Log” was read, from row 1 on." in page.select_one(".preview").text
    # A spreadsheet has parted the cells: there is nothing to choose about that.
    assert page.find(attrs={"name": "delimiter"}) is None
    assert page.find(attrs={"name": "decimal"}) is None
    assert page.find(attrs={"name": "sheet"}) is None
    stored = answer(client, battery, page, action="store")
    assert stored.status_code == 200
    assert client.get("/api/discharges/1").json()["started_at"].startswith("2026-03-01T")
    kept = client.get("/files/1")
    assert kept.content == data
    assert "log.xlsx" in kept.headers["content-disposition"]


def test_a_sheet_is_chosen_and_its_columns_are_told_anew(client, battery):
    milliamps = [(moment, volts, amps * 1000) for moment, amps, volts in workbooks.ROWS]
    data = workbooks.xlsx(
        workbooks.HEADINGS,
        *workbooks.ROWS,
        more=lambda book: workbooks.fill(
            book.create_sheet("Second"), (("Time", "Voltage (V)", "Current (mA)"), *milliamps)
        ),
    )
    page = soup(upload_book(client, battery, data, day="", start_time=""))
    assert "one of the 2 in the file: Log, Second" in page.text
    page = soup(answer(client, battery, page, sheet="Second"))
    uses = [s.select_one("option[selected]")["value"] for s in page.select("select[name^=use_]")]
    assert uses == ["clock", "voltage_v", "current_ma"]
    assert "one of the 2 in the file" not in page.text
    assert answer(client, battery, page, action="store").status_code == 200
    assert "Sheet “Second”" in " ".join(client.get("/api/discharges/1").json()["assumptions"])


def test_a_discharge_is_chosen_from_a_list(client, battery):
    data = test_several_discharges.record(*test_several_discharges.CYCLES)
    page = soup(upload_book(client, battery, data, day="", start_time=""))
    listed = [one.text for one in page.select("#which_discharge option")]
    assert listed[0] == "please choose"
    assert [one.split(":")[0] for one in listed[1:-1]] == ["1", "2"]
    assert "all 2, each as a test of its own" in listed[-1]
    assert answer(client, battery, page, action="store").status_code == 422
    stored = answer(client, battery, page, action="store", which_discharge="2")
    assert stored.status_code == 200
    assert client.get("/api/discharges/1").json()["started_at"].startswith("2026-03-02T")


def test_a_workbook_with_a_password_is_told_so_beside_the_field(client, battery):
    page = soup(upload_book(client, battery, test_workbooks.sealed()))
    assert "Take the password off" in page.select_one("#problem-file").text


def test_all_discharges_of_a_file_become_tests_of_their_own(client, store, battery):
    """All or none, looked at like any other, and taken back in one step."""
    data = test_several_discharges.record(*test_several_discharges.CYCLES)
    preview = soup(upload_book(client, battery, data, day="", start_time=""))
    shown = soup(answer(client, battery, preview, which_discharge="all"))
    assert "all 2, each as a test of its own" in shown.select_one("#which_discharge").text
    assert "Store 2 tests" in shown.main.text
    assert client.get("/discharges/1").status_code == 404
    stored = answer(client, battery, shown, action="store")
    notice = soup(stored).select_one(".notice")
    assert "2 capacity tests came in together." in notice.text
    assert "came in with 1 other test" in " ".join(soup(client.get("/discharges/2")).text.split())
    again = soup(answer(client, battery, shown, action="store")).select_one(".notice")
    assert "These tests are stored already. Nothing was stored twice." in again.text
    client.post(notice.form["action"])
    assert client.get("/discharges/1").status_code == 404


def test_all_discharges_need_their_days(client, store, battery):
    data = test_several_discharges.record(*test_several_discharges.CYCLES, dated=False)
    preview = soup(upload_book(client, battery, data, day="", start_time=""))
    shown = answer(client, battery, preview, which_discharge="all")
    assert "the file does not give their days" in shown.text
    typed = {"day": "2026-03-01", "start_time": "08:00"}
    both = answer(client, battery, preview, which_discharge="all", **typed)
    assert "it applies to one discharge only" in both.text
