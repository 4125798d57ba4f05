"""A reading that can hardly be is stored at once and asked about on the page of its run."""

from datetime import timedelta

import pytest

from app.domain.i18n.preferences import DecimalShown, Language, Preferences
from app.services.access import preferences
from app.services.entities import discharges
from tests.web.conftest import soup
from tests.web.running import START, note

ASKED = "section[aria-labelledby=questions-title] form"


@pytest.fixture
def noted(client, clock, run):
    """Notes one reading an hour."""

    def one(*amps, volts="13.1"):
        for each in amps:
            answer = note(client, run, current_a=each, voltage_v=volts)
            clock.now += timedelta(hours=1)
        return soup(answer)

    return one


def words(page):
    return " ".join(page.main.text.split())


def answers(page):
    return {one.text: one["value"] for one in page.select(f"{ASKED} button")}


def press(client, page, words):
    path = page.select_one(ASKED)["action"]
    return client.post(path, data={"answer": answers(page)[words]})


def test_ninety_amps_for_nine_is_stored_asked_and_corrected_by_one_press(client, run, noted):
    page = noted("9,0", "90")
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(49.5), "stored at once"
    assert "90 A is about ten times the 9 A beside it." in words(page)
    assert list(answers(page)) == ["Change it to 9 A", "Keep it as entered"]
    assert "The current went from" not in words(page), "what is asked is not told once more"
    after = soup(press(client, page, "Change it to 9 A"))
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(9)
    assert "Please look at this" not in words(after)
    assert "9 A, was 90 A" in words(after), "what was there is kept"
    # Voltage and moment stay as they were noted.
    assert "13.10 V" in after.select("table.readings tbody tr")[0].text


def test_what_is_meant_is_kept_and_asked_neither_there_nor_at_the_end(client, clock, run):
    """250 A for 20 min are 83 Ah of 100: only the current can hardly be."""
    page = soup(note(client, run, current_a="250"))
    assert "up to 200 A is usual" in words(page)
    after = soup(press(client, page, "Keep it as entered"))
    assert "right as entered" in after.select_one("table.readings tbody").text
    assert "changed" not in after.select_one("table.readings tbody").text
    for _ in range(2):
        clock.now += timedelta(minutes=10)
        assert "Please look at this" not in words(soup(note(client, run, current_a="250")))
    ended = words(soup(client.post(f"{run}/end", data={"end_reason": "time"})))
    assert "Checked, and right as entered. The load is 250 A; up to 200 A" in ended
    assert "Please look at this" not in ended


def test_a_lone_reading_that_was_meant_is_the_owner_s_word_with_the_test(
    client, store, clock, run, noted
):
    noted("9", "9")
    press(client, noted("90"), "Keep it as entered")
    noted("9", "9", "9", "9", "9")
    client.post(f"{run}/end", data={"end_reason": "time"})
    (kept,) = discharges.show_discharge(store, 1).discharge.details.assumptions
    assert kept.startswith("Checked, and right as entered. Reading 3 alone says 90 A, between")
    assert "Please look at this" not in words(soup(client.get("/discharges/1")))


def test_what_nobody_answered_holds_nothing_up_and_is_asked_of_the_test(client, run, noted):
    noted("9", "9", "9")
    page = noted("9", volts="131")
    assert "131 V; 7.6 to 15.2 V is possible under load." in words(page)
    assert "question open" in page.select_one("table.readings tbody").text
    noted("9", "9")
    ended = client.post(f"{run}/end", data={"end_reason": "time"})
    assert ended.status_code == 200
    assert "Reading 4 says 131 V" in words(soup(ended))


def test_a_voltage_that_was_meant_is_not_asked_at_the_end(client, run, noted):
    """A battery of 25.6 V that was described as one of 12.8 V."""
    press(client, noted("9", volts="26.4"), "Keep it as entered")
    assert "Please look at this" not in words(noted("9", "9", "9", volts="26.1"))
    ended = client.post(f"{run}/end", data={"end_reason": "time"})
    assert (
        "is possible under load" not in words(soup(ended)).split("Checked, and right as entered")[0]
    )
    assert "Checked, and right as entered. Reading 1 says 26.4 V" in words(soup(ended))


def test_readings_of_a_feed_are_marked_the_same_way(client, clock, run):
    clock.now = START + timedelta(hours=9)
    word = soup(client.post(f"{run}/feed")).select_one("[data-once] code").text
    sent = [{"at": (START + timedelta(hours=h)).isoformat(), "current_a": 9000.0} for h in range(9)]
    headers = {"Authorization": f"Bearer {word}"}
    fed = client.post(f"/api{run}/readings", json={"readings": sent}, headers=headers)
    assert fed.json()["stored"] == 9
    page = soup(client.get(run))
    assert len(page.select(ASKED)) == 1
    assert "9 readings from " in words(page)
    assert page.select_one("table.readings tbody").text.count("question open") == 9
    assert len(page.select("table.readings a[href^='#question-']")) == 9
    assert len(client.get("/api" + run).json()["questions"]) == 9


@pytest.mark.parametrize("answer", ["", "current_a 12", "voltage_v 13.1", "meant"])
def test_an_answer_to_nothing_that_is_asked_is_refused(client, run, noted, answer):
    page = noted("9", "90")
    path = page.select_one(ASKED)["action"]
    if answer == "meant":
        press(client, page, "Change it to 9 A")
    refused = client.post(path, data={"answer": answer})
    assert refused.status_code == 422
    assert "an answer to an open question" in words(soup(refused))


def test_a_reading_that_was_meant_and_then_changed_is_asked_anew(client, run, noted):
    page = noted("9", "9", "90")
    path = page.select_one(ASKED)["action"].removesuffix("/answer")
    press(client, page, "Keep it as entered")
    change = {"action": "correct", "current_a": "95", "voltage_v": "13.1"}
    assert "95 A is about ten times" in words(soup(client.post(path, data=change)))


def test_the_question_is_asked_in_the_reader_s_language(client, store, run, noted):
    preferences.keep_preferences(store, Preferences(language=Language.GERMAN))
    page = noted("9", "90")
    assert list(answers(page)) == ["Auf 9 A ändern", "So gemeint"]
    assert "etwa das Zehnfache" in words(page)


def test_one_press_corrects_where_the_reader_writes_a_comma(client, store, run, noted):
    preferences.keep_preferences(store, Preferences(decimals=DecimalShown.COMMA))
    page = noted("9,5", "95")
    offered = next(value for value in answers(page).values() if value.startswith("current_a"))
    assert offered == "current_a 9.5"
    pressed = client.post(page.select_one(ASKED)["action"], data={"answer": offered})
    assert not soup(pressed).select(ASKED)


def test_an_open_question_is_marked_on_the_list_and_on_the_battery_until_it_is_answered(
    client, run, battery, noted
):
    pages = ("/batteries", f"/batteries/{battery.id}")
    noted("9")
    for path in pages:
        assert "A reading has an open question" not in client.get(path).text
    page = noted("90")
    for path in pages:
        link = soup(client.get(path)).find("a", string="A reading has an open question")
        assert link["href"] == f"{run}#questions-title", path
    assert page.find(id="questions-title")
    press(client, page, "Keep it as entered")
    for path in pages:
        assert "A reading has an open question" not in client.get(path).text


@pytest.mark.parametrize(
    ("pressed", "volts", "mark"),
    [("Change all to 13.1 V", 13.1, ", changed"), ("Keep all as entered", 131, "right as entered")],
)
def test_one_question_of_several_readings_is_asked_once_and_answered_together(
    client, run, noted, pressed, volts, mark
):
    noted("9", "9")
    page = noted("9", "9", "9", volts="131")
    assert len(page.select(ASKED)) == 1
    assert "3 readings from " in page.select_one(f"{ASKED} p").text
    rows = page.select("table.readings tbody tr")
    assert [one.select_one("a") is not None for one in rows] == [True] * 3 + [False] * 2
    form = page.select_one(ASKED)
    sent = {
        "answer": answers(page)[pressed],
        "together": [one["value"] for one in form.select("input[name=together]")],
    }
    after = soup(client.post(form["action"], data=sent))
    assert "Please look at this" not in words(after)
    rows = [" ".join(one.text.split()) for one in after.select("table.readings tbody tr")]
    assert [mark in one and f"{volts:.2f} V" in one for one in rows] == [True] * 3 + [False] * 2


def test_a_reading_that_was_not_on_the_page_is_not_answered_with_the_others(client, run, noted):
    page = noted("9", "9", volts="131")
    form, answer = page.select_one(ASKED), answers(page)["Change all to 13.1 V"]
    together = [one["value"] for one in form.select("input[name=together]")]
    noted("9", volts="131")
    after = soup(client.post(form["action"], data={"answer": answer, "together": together}))
    assert "131 V" in after.select_one(f"{ASKED} p").text
