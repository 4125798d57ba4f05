import re
from dataclasses import fields, replace
from functools import cache

import pytest
from jinja2 import meta

from app.domain.entities.discharge import EndReason
from app.domain.entities.meter import MeterKind
from app.domain.units.rounding import rounded_down
from app.services.entities import batteries as stored_batteries
from app.services.entities import discharges as stored_discharges
from app.web.downloads import battery_file, received_file, records
from app.web.forms import battery_form, discharge_form
from app.web.incoming import past_tests, temperature_files
from app.web.joined import arrival, phone_guard, run_pages
from app.web.network import opening
from app.web.open_pages import open_help, shared_page
from app.web.pages import (
    batteries,
    battery_list,
    bin,
    comparison,
    discharges,
    events,
    heat,
    help,
    history,
    meters,
    nights,
    places,
    plans,
    preferences,
    removal,
    reports,
    runs,
    shares,
    sign_in,
)
from app.web.rendering import error_pages
from app.web.rendering.rendering import environment
from tests.builders import NOW, add_five_tests, battery_details, discharge_details, steady
from tests.web.conftest import soup
from tests.web.typed import post_test


def test_the_first_page_shows_the_way(client):
    page = soup(client.get("/"))
    assert [step.strong.text for step in page.select("ol li")] == [
        "Describe the battery",
        "Run a capacity test",
        "Read what it proves",
    ]
    assert page.select_one("a.button")["href"] == "/batteries/new"


def test_the_settings_and_the_help_lead_to_every_page_that_is_in_no_list(client):
    ways = [
        [one["href"] for one in soup(client.get(path)).main.select(".hub a")]
        for path in ("/settings", "/help")
    ]
    assert ways == [
        ["/preferences", "/meters", "/places", "/door", "/network", "/bin"],
        ["/good-test", "/words", "/method", "/heat-in-plain-words", "/help/scripts"],
    ]
    assert all(client.get(path).status_code == 200 for path in ways[0] + ways[1])


def test_the_settings_say_how_much_lies_in_the_bin(client, battery):
    assert "Empty." in client.get("/settings").text
    client.post(f"/bin/battery/{battery.id}")
    assert "1 item to restore" in client.get("/settings").text


def test_the_list_shows_health_rate_and_next_test(client, tested):
    card = soup(client.get("/batteries")).select_one(".card")
    text = " ".join(card.text.split())
    assert re.search(r"90\.0 Ah very likely 8\d\.\d to 9\d\.\d", text)
    assert re.search(r"Loses \d\.\d Ah a year very likely \d\.\d to \d\.\d", text)
    assert "Down to your limit" in text
    assert "Next test 14 Feb 2027" in text
    assert card.select_one(".button")["href"] == f"/batteries/{tested.id}/discharges/new"


def test_the_first_page_leads_straight_on_to_the_only_battery(client, app, tested):
    app.state.settings = replace(app.state.settings, demo=True)
    answer = client.get("/", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/batteries/{tested.id}")
    listed = soup(client.get("/batteries"))
    assert len(listed.select(".card")) == 1
    assert listed.select_one("a[href='/batteries/new']")
    # The way to the list stands on every page.
    assert soup(client.get("/")).select_one("header nav a")["href"] == "/batteries"


@pytest.mark.parametrize("query", ["?find=", "?first=0", "?done=bin.battery.9"])
def test_the_first_page_is_the_list_where_it_is_asked_for(client, app, battery, query):
    app.state.settings = replace(app.state.settings, demo=True)
    assert soup(client.get(f"/{query}")).h1.text == "Batteries"


@pytest.mark.data_file
def test_the_first_page_is_the_list_where_a_backup_is_missing(client, battery):
    assert "There is no backup yet" in client.get("/").text


def test_the_first_page_is_the_list_where_there_is_something_to_say(client, app, store, battery):
    app.state.settings = replace(app.state.settings, demo=True)
    assert soup(client.get("/")).h1.text == battery.details.name
    client.post("/example")
    assert "still open" in client.get("/").text
    client.post("/example/leave")
    stored_batteries.add_battery(store, battery_details(name="Second"))
    assert soup(client.get("/")).h1.text == "Batteries"


def test_a_battery_s_page_has_words_before_any_chart(client, tested):
    page = soup(client.get(f"/batteries/{tested.id}"))
    main = page.main.text
    assert main.index("very likely") < main.index("Fade across the years")
    assert len(page.select("section > .scroll tbody tr")) == 5
    assert page.select_one("figure.chart [data-chart$='.json']")


def test_a_battery_without_tests_has_no_chart_and_no_chart_library(client, battery):
    page = soup(client.get(f"/batteries/{battery.id}"))
    assert not page.select("figure")
    assert not page.select("script[src*=chart]")


def test_a_test_s_page_shows_actual_against_expected(client, tested):
    page = soup(client.get("/discharges/5"))
    assert "Measured 90.0 Ah ±" in page.select_one(".headline").text
    assert "below the rated 100 Ah" in page.select_one(".verdict").text
    rows = page.select("section[aria-labelledby=readings-title] tbody tr")
    assert len(rows) == 101
    assert "Difference" in page.text


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/batteries/99", "There is no battery 99; it may be in the bin."),
        ("/discharges/99", "There is no test 99; it may be in the bin."),
        (
            "/batteries/x",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        (
            "/nothing",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
    ],
)
def test_what_does_not_exist_is_a_page_that_says_so(client, path, words):
    response = client.get(path)
    assert response.status_code == 404
    page = soup(response)
    assert words in page.main.text
    assert [one["href"] for one in page.main.select("a")] == ["/batteries", "/bin"]
    assert "Your data stay on this machine" in page.footer.text


PAGES = [
    ("batteries.html", battery_list.BatteriesPage),
    ("battery.html", batteries.BatteryPage),
    ("battery_form.html", battery_form.BatteryFormPage),
    ("discharge.html", discharges.DischargePage),
    ("discharge_form.html", discharge_form.DischargeFormPage),
    ("past_tests.html", past_tests.PastTestsPage),
    ("share.html", shares.SharePage),
    ("link.html", shares.LinkPage),
    ("network.html", opening.NetworkPage),
    ("door.html", sign_in.DoorPage),
    ("shared.html", shared_page.SharedPage),
    ("plan.html", plans.PlanPage),
    ("road.html", nights.RoadPage),
    ("warranty.html", nights.WarrantyPage),
    ("run_start.html", runs.RunStartPage),
    ("run.html", runs.RunPage),
    ("meters.html", meters.MetersPage),
    ("method.html", open_help.MethodPage),
    ("settings.html", preferences.SettingsPage),
    ("help.html", help.HelpPage),
    ("words.html", open_help.WordsPage),
    ("good_test.html", open_help.GoodTestPage),
    ("scripts.html", help.ScriptsPage),
    ("preferences.html", preferences.PreferencesPage),
    ("curves.html", batteries.CurvesPage),
    ("comparison.html", comparison.ComparisonPage),
    ("records.html", records.RecordsPage),
    ("bin.html", bin.BinPage),
    ("places.html", places.PlacesPage),
    ("place.html", places.PlacePage),
    ("place_form.html", places.PlaceFormPage),
    ("temperature_file.html", temperature_files.TemperatureFilePage),
    ("heat.html", heat.HeatPage),
    ("plain_heat.html", open_help.PlainHeatPage),
    ("history.html", history.HistoryPage),
    ("removal.html", removal.RemovalPage),
    ("received.html", received_file.ReceivedPage),
    ("battery_file.html", battery_file.FilePage),
    ("discharge_report.html", reports.TestReportPage),
    ("battery_report.html", reports.BatteryReportPage),
    ("error.html", error_pages.ErrorPage),
    ("event.html", events.EventPage),
    ("arrival.html", arrival.ArrivalPage),
    ("not_in_test.html", phone_guard.NotInTestPage),
    ("ended_run.html", run_pages.EndedPage),
]


@cache
def what_it_uses(template):
    """Names and other templates; that of all pages is read once."""
    source, _, _ = environment.loader.get_source(environment, template)
    tree = environment.parse(source)
    others = [name for name in meta.find_referenced_templates(tree) if name]
    return meta.find_undeclared_variables(tree), others


@pytest.mark.parametrize(("template", "context"), PAGES)
def test_a_page_uses_every_field_of_its_context(template, context):
    names: set[str] = set()
    waiting = [template]
    while waiting:
        used, others = what_it_uses(waiting.pop())
        names |= used
        waiting += others
    assert {field.name for field in fields(context)} <= names


def test_no_template_holds_script_or_style(client):
    for name in environment.list_templates():
        source, _, _ = environment.loader.get_source(environment, name)
        for forbidden in ("<style", "style=", "onclick", "onsubmit", "<script>"):
            assert forbidden not in source, name


def test_the_lower_bound_of_a_test_is_its_count_less_the_uncertainty(client, store, battery):
    details = discharge_details(steady(hours=6, last_v=12.9), end_reason=EndReason.TIME)
    test = stored_discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    report = stored_discharges.show_discharge(store, test.id).report
    page = soup(client.get(f"/discharges/{test.id}"))
    row = next(
        tr
        for tr in page.select("section[aria-labelledby=trace-title] tr")
        if "lower bound" in tr.text
    )
    assert report.capacity_ah - report.lower_ah == pytest.approx(report.expanded_ah)
    assert row.td.text == f"{rounded_down(report.lower_ah, 2):.2f} Ah"
    assert f"less its uncertainty of {report.expanded_ah:.2f} Ah" in row.text


def test_every_page_of_the_demo_says_that_it_is_invented(client, app, tested):
    app.state.settings = replace(app.state.settings, demo=True)
    for path in ("/", f"/batteries/{tested.id}", "/discharges/1", "/batteries/new", "/bin", "/no"):
        assert "invented" in soup(client.get(path)).select_one(".demo").text


@pytest.fixture
def many(store):
    """More batteries than a page holds."""
    for number in range(95):
        stored_batteries.add_battery(store, battery_details(name=f"Van {number:02d} 100%_"))


def shown_names(response):
    return [one.text for one in soup(response).select(".card h2")]


def test_a_long_list_is_shown_in_pages_by_name(client, many):
    first = client.get("/batteries")
    assert shown_names(first) == [f"Van {number:02d} 100%_" for number in range(40)]
    assert "Batteries 1 to 40 of 95." in first.text
    assert not soup(first).select("[rel=prev]")
    second = client.get("/" + soup(first).select_one("[rel=next]")["href"].lstrip("/"))
    third = client.get("/" + soup(second).select_one("[rel=next]")["href"].lstrip("/"))
    assert shown_names(third)[0] == "Van 80 100%_"
    assert len(shown_names(third)) == 15
    assert not soup(third).select("[rel=next]")
    back = client.get("/" + soup(third).select_one("[rel=prev]")["href"].lstrip("/"))
    assert shown_names(back) == shown_names(second)


def test_batteries_are_found_by_a_part_of_their_name_taken_as_it_stands(client, many):
    assert shown_names(client.get("/?find=van%2007")) == ["Van 07 100%_"]
    assert len(shown_names(client.get("/?find=0%25_"))) == 40
    nothing = client.get("/?find=%25van")
    assert shown_names(nothing) == []
    assert "No battery has such a name." in nothing.text


def test_what_is_soonest_down_to_its_limit_stands_first_if_asked_for(client, store, many):
    last = stored_batteries.add_battery(store, battery_details(name="Wagon"))
    add_five_tests(store, last)
    assert "Wagon" not in shown_names(client.get("/"))
    page = client.get("/?order=limit")
    looks = 0
    while again := soup(page).find("a", string=re.compile("Look again")):
        # The more are worked out, the fewer stand last; nothing hides that.
        assert "not ready yet and stand" in page.text
        page, looks = client.get("/" + again["href"].lstrip("/")), looks + 1
        assert looks < 20
    assert shown_names(page)[:2] == ["Wagon", "Van 00 100%_"]
    assert soup(page).select_one("#order [selected]")["value"] == "limit"
    behind = client.get("/" + soup(page).select_one("[rel=next]")["href"].lstrip("/"))
    assert shown_names(behind)[0] == "Van 39 100%_"
    assert shown_names(client.get("/?order=due"))[0] == "Van 00 100%_"


def test_a_short_list_has_no_pages_and_nothing_to_find(client, battery):
    page = soup(client.get("/"))
    assert not page.select("[rel=next], [type=search]")


def test_the_batteries_as_json_go_on_behind_a_link(client, many):
    first = client.get("/api/batteries?most=60")
    assert len(first.json()) == 60
    address = re.fullmatch(r'<(.*)>; rel="next"', first.headers["link"])[1]
    rest = client.get(address)
    assert rest.json()[0]["name"] == "Van 60 100%_"
    assert len(rest.json()) == 35
    assert "link" not in rest.headers


@pytest.mark.parametrize(
    "query", ["first=-1", "first=99999999999", "first=x", "order=x", f"find={'x' * 81}"]
)
def test_a_place_in_the_list_that_there_is_not_is_told(client, many, query):
    answer = client.get(f"/?{query}")
    assert answer.status_code == 404
    assert (
        "There is no such page. Check the address, or start from the list of batteries."
        in soup(answer).main.text
    )


def test_a_page_behind_the_last_battery_says_that_there_is_none(client, many):
    page = client.get("/?first=500")
    assert page.status_code == 200
    assert "The list ends before this." in page.text


def test_the_chance_at_a_date_is_told_in_words(client, battery):
    post_test(client, battery)
    text = soup(client.get(f"/batteries/{battery.id}?on=2040-01-01")).text
    assert "On 1 January 2040 it is" in text
    text = client.get(f"/batteries/{battery.id}?on=someday").text
    assert "Date”: “someday”" in text
