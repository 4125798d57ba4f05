"""What is typed into the table of readings survives a closed tab, in that browser only."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Watch
from tests.browser.main_job import say_how
from tests.live_server import server_in_thread

NEW = "/batteries/1/discharges/new"
ROWS = [(f"{8 + hour}:00", "9", f"{13.1 - hour * 0.05:.2f}") for hour in range(3)]
OFFER = ".kept"


@pytest.fixture(scope="module")
def address(browser, tmp_path_factory):
    """A server with one battery, which no test changes."""
    with server_in_thread(tmp_path_factory.mktemp("kept")) as address:
        page = browser.new_page()
        page.goto(f"{address}/batteries/new")
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("105")
        page.get_by_role("button", name="Add battery").click()
        page.close()
        yield address


@pytest.fixture
def context(browser, address):
    context = browser.new_context(viewport={"width": 320, "height": 700})
    context.watch = Watch(address)
    yield context
    # A form that was refused says so with its status, which the browser notes.
    assert [one for one in context.watch.complaints if "422" not in one] == []
    context.close()


def opened(context, address, path=NEW):
    page = context.watch.over(context.new_page())
    page.goto(address + path)
    return page


def cell(page, column, row):
    return page.get_by_label(f"{column}, row {row}", exact=True)


def type_rows(page, rows=ROWS):
    for number, row in enumerate(rows, start=1):
        for column, text in zip(("time", "current", "voltage"), row, strict=True):
            cell(page, column, number).fill(text)


def test_typed_rows_are_offered_after_the_tab_was_closed_and_brought_back(context, address):
    page = opened(context, address)
    type_rows(page)
    page.close()
    page = opened(context, address)
    expect(cell(page, "time", 1)).to_have_value("")
    expect(page.locator(OFFER)).to_contain_text("not stored: 3 rows, kept in this browser only")
    page.get_by_role("button", name="Bring back these 3 rows").click()
    for number, row in enumerate(ROWS, start=1):
        expect(cell(page, "voltage", number)).to_have_value(row[2])
    expect(page.locator(OFFER)).to_have_count(0)


def test_rows_beyond_the_first_dozen_come_back_too(context, address):
    page = opened(context, address)
    page.get_by_role("button", name="More rows").click()
    cell(page, "time", 18).fill("17:00")
    page.close()
    page = opened(context, address)
    page.get_by_role("button", name="Bring back this row").click()
    expect(cell(page, "time", 18)).to_have_value("17:00")


def test_pasted_cells_are_kept_as_typed_ones(context, address):
    page = opened(context, address)
    cell(page, "time", 1).focus()
    page.evaluate(
        """() => {
            const data = new DataTransfer();
            data.setData("text", "0:00\\t9\\t13.1\\n1:00\\t9\\t13.0");
            const paste = { clipboardData: data, bubbles: true, cancelable: true };
            document.activeElement.dispatchEvent(new ClipboardEvent("paste", paste));
        }"""
    )
    expect(cell(page, "voltage", 2)).to_have_value("13.0")
    page.close()
    expect(opened(context, address).locator(OFFER)).to_contain_text("2 rows")


def test_what_was_forgotten_is_not_offered_again(context, address):
    page = opened(context, address)
    type_rows(page)
    page.reload()
    page.get_by_role("button", name="Discard it").click()
    page.reload()
    expect(page.locator("table.typed")).to_be_visible()
    expect(page.locator(OFFER)).to_have_count(0)


def test_rows_typed_beside_an_open_offer_lose_neither(context, address):
    page = opened(context, address)
    type_rows(page)
    page.reload()
    type_rows(page, [("0:00", "5", "12.9")])
    page.reload()
    expect(page.locator(OFFER)).to_have_count(2)
    page.get_by_role("button", name="Bring back these 3 rows").click()
    page.get_by_role("button", name="Bring back this row").click()
    expect(cell(page, "voltage", 1)).to_have_value("12.9")
    expect(page.locator(OFFER)).to_contain_text("3 rows")


def test_after_seven_days_nothing_is_left(context, address):
    page = opened(context, address)
    type_rows(page)
    page.evaluate(
        """() => {
            const [key] = Object.keys(localStorage);
            const kept = JSON.parse(localStorage.getItem(key));
            kept[0].at -= 7 * 24 * 3600 * 1000 + 1000;
            localStorage.setItem(key, JSON.stringify(kept));
        }"""
    )
    page.reload()
    expect(page.locator(OFFER)).to_have_count(0)
    assert page.evaluate("localStorage.length") == 0


def test_a_check_goes_on_with_what_was_typed_and_offers_nothing(context, address):
    page = opened(context, address)
    say_how(page)
    type_rows(page, [*ROWS, ("11:00", "nine", "12")])
    page.get_by_role("button", name="Check", exact=True).click()
    expect(page.locator("#problems")).to_be_focused()
    expect(cell(page, "current", 4)).to_have_value("nine")
    expect(page.locator(OFFER)).to_have_count(0)


def test_the_summary_leads_to_the_field(context, address):
    page = opened(context, address)
    say_how(page)
    type_rows(page, [*ROWS, ("11:00", "nine", "12")])
    page.get_by_role("button", name="Check", exact=True).click()
    page.locator("#problems a").first.click()
    expect(cell(page, "current", 4)).to_be_focused()


def test_what_was_stored_is_forgotten(browser, tmp_path):
    with server_in_thread(tmp_path) as address:
        context = browser.new_context()
        page = context.new_page()
        page.goto(f"{address}/batteries/new")
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("105")
        page.get_by_role("button", name="Add battery").click()
        page.goto(address + NEW)
        say_how(page)
        type_rows(page)
        page.get_by_role("button", name="Check", exact=True).click()
        assert page.evaluate("localStorage.length") == 1
        page.get_by_role("button", name="Store this test").click()
        expect(page.locator("h1")).to_contain_text("Capacity test of")
        page.wait_for_load_state()
        assert page.evaluate("[localStorage.length, sessionStorage.length]") == [0, 0]


def test_a_store_that_never_arrived_keeps_what_was_typed(context, address):
    page = context.new_page()
    page.goto(address + NEW)
    say_how(page)
    type_rows(page)
    page.get_by_role("button", name="Check", exact=True).click()
    page.route("**/discharges", lambda route: route.abort())
    page.get_by_role("button", name="Store this test").click()
    page.unroute("**/discharges")
    page.goto(address + NEW)
    expect(page.locator(OFFER)).to_contain_text("3 rows")


def test_enter_leads_through_the_cells_and_into_a_new_row(context, address):
    page = opened(context, address)
    cell(page, "time", 12).focus()
    for text in ("8:00", "9", "12.9", "21", "40", "9:00"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    expect(cell(page, "time", 13)).to_have_value("9:00")
    expect(cell(page, "current", 13)).to_be_focused()


def test_a_counter_is_typed_kept_and_brought_back_in_its_own_column(context, address):
    page = opened(context, address)
    expect(cell(page, "amp-hours counted", 1)).to_be_hidden()
    type_rows(page)
    page.get_by_role("button", name="Ah counter").click()
    expect(cell(page, "amp-hours counted", 1)).to_be_focused()
    page.keyboard.type("12,5")
    page.keyboard.press("Enter")
    expect(cell(page, "time", 2)).to_be_focused()
    page.close()
    page = opened(context, address)
    expect(cell(page, "amp-hours counted", 1)).to_be_hidden()
    page.get_by_role("button", name="Bring back these 3 rows").click()
    expect(cell(page, "amp-hours counted", 1)).to_be_visible()
    expect(cell(page, "amp-hours counted", 1)).to_have_value("12,5")


def test_without_scripts_the_form_is_as_it_was(browser, address):
    page = browser.new_context(java_script_enabled=False).new_page()
    page.goto(address + NEW)
    type_rows(page)
    page.get_by_role("button", name="More rows").click()
    expect(cell(page, "voltage", 3)).to_have_value(ROWS[2][2])
    expect(cell(page, "time", 18)).to_have_value("")
    page.get_by_role("button", name="Ah counter").click()
    cell(page, "amp-hours counted", 3).fill("27")
    expect(cell(page, "voltage", 3)).to_have_value(ROWS[2][2])


def test_the_demo_keeps_nothing(browser, tmp_path):
    with server_in_thread(tmp_path, demo=True) as address:
        page = browser.new_context().new_page()
        page.goto(address + NEW + "?way=typed")
        type_rows(page)
        assert page.evaluate("localStorage.length") == 0


def test_a_temperature_from_before_another_choice_of_unit_says_its_own(context, address):
    page = opened(context, address)
    type_rows(page)
    cell(page, "temperature", 1).fill("77")
    page.evaluate(
        """() => {
            const [key] = Object.keys(localStorage);
            localStorage.setItem(key, localStorage.getItem(key).replace("°C", "°F"));
        }"""
    )
    page.reload()
    page.get_by_role("button", name="Bring back these 3 rows").click()
    expect(cell(page, "temperature", 1)).to_have_value("77 °F")
    expect(cell(page, "voltage", 1)).to_have_value(ROWS[0][2])
