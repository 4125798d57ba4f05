"""A battery's pages: one way between them all, and what is known first, whatever is known."""

from dataclasses import replace

import pytest

from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.services.entities import batteries, discharges
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.fast_demo import copy_demo_data
from tests.web.conftest import soup

PARTS = ("Overview", "Curves", "Nights", "Heat", "Warranty", "Share", "Print", "Edit")
PATHS = ("", "/curves", "/road", "/heat", "/warranty", "/share", "/report", "/edit")


def add(store, battery, details):
    return discharges.add_discharge(store, battery.id, details, None, NOW)


def shown(client, battery):
    return soup(client.get(f"/batteries/{battery.id}")).main


def words(part):
    return " ".join(part.text.split())


def in_sight(main):
    """The page without what is folded, and without what pictures say to those who cannot see."""
    for folded in main.select("details > :not(summary), svg"):
        folded.decompose()
    return words(main)


def test_a_long_history_is_a_light_page(client, store):
    """Of 18 tests the newest, the chart and its numbers; as sent, without styles and scripts.

    The words in sight have their bar in tests/browser/test_battery_at_a_glance.py.
    """
    copy_demo_data(store)
    assert len(client.get("/batteries/1").content) <= 45_000


def test_the_picture_s_sentence_is_said_once(client, store):
    copy_demo_data(store)
    plot = soup(client.get("/batteries/1")).select_one(".plot")
    assert plot["aria-label"].startswith("17 measured tests and 1 lower bound")
    assert plot.svg.title.text == "Capacity of Marmot galley bank over the years, in Ah"
    assert plot.svg.find("desc") is None


@pytest.mark.parametrize("path", PATHS)
def test_the_same_way_leads_between_all_pages_of_a_battery(client, tested, path):
    page = soup(client.get(f"/batteries/{tested.id}{path}"))
    ways = page.select("nav.parts a")
    assert tuple(way.text for way in ways) == PARTS
    assert [way["href"] for way in ways] == [f"/batteries/{tested.id}{one}" for one in PATHS]
    here = page.select("nav.parts a[aria-current=page]")
    assert [way["href"] for way in here] == [f"/batteries/{tested.id}{path}"]


def test_the_list_of_all_tests_belongs_to_the_overview(client, tested):
    (here,) = soup(client.get(f"/batteries/{tested.id}/tests")).select("nav.parts a[aria-current]")
    assert (here["href"], here["aria-current"]) == (f"/batteries/{tested.id}", "true")


def test_a_refused_edit_still_leads_to_the_battery_s_other_pages(client, battery):
    page = soup(client.post(f"/batteries/{battery.id}", data={"name": "", "rated_ah": "x"}))
    assert len(page.select("nav.parts a")) == len(PARTS)
    assert soup(client.get("/batteries/new")).select("nav.parts") == []


def labels(main):
    return [one.text.replace("\u00a0", " ") for one in main.select(".glance dt")]


def test_what_is_known_stands_in_one_order_whatever_is_known(client, store, battery):
    """Without a test, with lower bounds only, with one and with two measured tests."""
    orders, figures = [], []
    short = discharge_details(steady(5, last_v=12.8), days_ago=900, end_reason=EndReason.TIME)
    for details in (None, short, discharge_details(days_ago=400), discharge_details(days_ago=10)):
        if details is not None:
            add(store, battery, details)
        main = shown(client, battery)
        orders.append(labels(main))
        figures.append([one.text for one in main.select(".glance strong")][:2])
    assert {tuple(order) for order in orders} == {
        ("Holds now", "Loses", "Down to your limit", "Next test"),
        ("Last known capacity", "Loses", "Down to your limit", "Next test"),
    }
    assert figures[0] == ["not known", "not known"]
    assert figures[1][0].startswith("at least")
    assert figures[2] == ["90.0 Ah", "not known"]
    assert figures[3] == ["90.0 Ah", "no loss proven"]


def test_one_line_says_what_to_mind_most(client, store, tested):
    assert "All as expected." in words(shown(client, tested).select_one(".remarks"))
    low = add(store, tested, discharge_details(steady(6.0), days_ago=1))
    line = shown(client, tested).select_one(".remarks")
    assert "All as expected" not in line.text
    assert "unusually low" in line.summary.text
    assert line.summary.select_one(".opens").text.strip() == "Why?"
    assert line.select_one("li a")["href"] == f"/discharges/{low.id}"
    store_left_out(store, low)
    assert "All as expected." in words(shown(client, tested).select_one(".remarks"))


def test_what_else_is_to_be_minded_is_counted_where_it_unfolds(client, store, battery):
    """Two tests, whose interval rests on what was stated, of a chemistry whose life is a guess."""
    batteries.change_battery(store, battery.id, battery_details(chemistry=Chemistry.AGM), NOW)
    for age in (400, 20):
        add(store, battery, discharge_details(steady(amps=9.0), days_ago=age))
    line = shown(client, battery).select_one(".remarks")
    assert line.summary.select_one(".opens").text.split() == [str(len(line.select("li"))), "more"]


def store_left_out(store, test):
    discharges.leave_out(store, test.id, "a load that nobody saw", NOW)


def test_an_open_question_is_named_and_led_to(client, store, battery):
    asked = add(store, battery, discharge_details(steady(amps=90.0), days_ago=20))
    line = shown(client, battery).select_one(".remarks")
    assert "open question" in line.text
    assert line.a["href"] == f"/discharges/{asked.id}#questions-title"


def in_full(client, battery):
    """The table of all tests, on the page of its own."""
    return soup(client.get(f"/batteries/{battery.id}/tests")).select_one("main .all")


def test_a_test_that_was_left_out_is_listed_as_such_and_counts_for_nothing(client, store, battery):
    store_left_out(store, add(store, battery, discharge_details()))
    main = shown(client, battery)
    assert "left out" in words(main.select_one(".newest tbody tr"))
    assert "a load that nobody saw" in words(in_full(client, battery))
    assert "No test counts so far." in words(main.select_one(".glance"))


def test_a_running_test_is_the_next_one(client, battery):
    form = {"charge_condition": "full_rested", "meter": "shunt", "load": "lamps"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form).url.path
    main = shown(client, battery)
    assert main.select_one(".glance > .now strong").text == "running"
    assert main.select_one(".headed .button")["href"] == run
    client.post(f"{run}/abandon")
    assert shown(client, battery).select_one(".headed .button").text.strip() == "New test"


def test_a_lower_bound_has_its_share_in_the_newest_tests_too(client, store, battery):
    add(store, battery, discharge_details(charge_condition=ChargeCondition.UNKNOWN))
    page = shown(client, battery)
    share = words(page.select(".newest tbody td")[2])
    assert share.startswith("at least ")
    in_full = soup(client.get(f"/batteries/{battery.id}/tests")).main
    assert share == words(in_full.select("tbody td")[2])


def test_the_newest_eight_tests_stand_in_sight_and_all_of_them_one_tap_away(client, store, battery):
    for months in range(10):
        add(store, battery, discharge_details(days_ago=10 + 30 * months))
    main = shown(client, battery)
    assert len(main.select(".newest tbody tr")) == 8
    ways = [words(way) for way in main.select(f"a[href='/batteries/{battery.id}/tests']")]
    assert ways == ["All 10 tests in full"]
    days = [one.text.strip() for one in in_full(client, battery).select("tbody th")]
    assert len(days) == 10
    assert [one.text.strip() for one in main.select(".newest tbody th")] == days[:8]


def test_nothing_is_lost_by_folding(client, store, tested):
    """Each figure with its exact interval, every reason and what the battery is."""
    details = batteries.get_battery(store, tested.id).details
    batteries.change_battery(store, tested.id, replace(details, rated_hours=20.0), NOW)
    main = shown(client, tested)
    whole = words(main)
    report = batteries.show_battery(store, tested.id, NOW.date()).report
    for said in (
        report.newest_words,
        report.fade.words,
        report.end_of_life.words,
        report.next_test.words,
        *(one.words for one in report.next_test.reasons[1:]),
        *(one.text for one in report.end_of_life.caveats),
        "20-hour rate",
        "SECRETPLACE",
        "SECRETSERIAL",
        "Calendar file",
    ):
        assert said in whole, said
    assert "95 % interval" not in in_sight(main)


def test_a_shared_page_says_the_same_but_not_when_to_test(client, tested):
    link = soup(client.post(f"/batteries/{tested.id}/shares")).select_one("#address code").text
    theirs, ours = soup(client.get(link)).main, shown(client, tested)
    assert labels(theirs) == [*labels(ours)[:2], "Down to the owner’s limit"]
    # A stranger reads the limit there; above the owner's answers it stands already.
    assert "your limit: 80 Ah (80 %)" in words(ours.select_one(".under"))
    told = [words(one) for one in ours.select(".glance dd")][:3]
    told[2] += " 80 Ah (80 %)"
    assert [words(one) for one in theirs.select(".glance dd")] == told
    assert words(theirs.select_one(".claim")).startswith("5 measured tests from ")


def test_without_a_test_one_on_paper_is_a_tap_away(client, battery):
    main = shown(client, battery)
    link = main.find("a", string="Type it in")
    assert client.get(link["href"]).status_code == 200


def test_a_rising_line_is_not_said_to_be_level(client, store, battery):
    for hours, age in ((9.0, 700), (9.6, 400), (10.2, 10)):
        add(store, battery, discharge_details(steady(hours, step_h=0.1), days_ago=age))
    text = words(shown(client, battery))
    assert "Seems to gain" in text
    assert "nothing, for it rises, which no battery does" in text
    assert "not proven to differ from zero" not in text


@pytest.mark.parametrize(
    ("hours", "said", "both"),
    [
        ((11, 10.5, 10, 9.5), ", nor after ", True),
        ((11, 10, 9, 8), "Below the limit already", False),
        ((11, 10.3, 9.6, 9.1), "may be below the limit already", False),
    ],
)
def test_two_ends_are_spoken_of_only_where_both_are_given(
    client, store, battery, hours, said, both
):
    for age, lasted in zip((1115, 750, 385, 20), hours, strict=True):
        add(store, battery, discharge_details(steady(lasted, step_h=0.1), days_ago=age))
    text = words(shown(client, battery))
    assert said in text
    assert ("9 in 10 such batteries end between them" in text) is both
