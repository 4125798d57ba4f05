"""Every page of the program and every state of it that looks different, as places to visit.

A new page needs a line here: `test_every_page` compares the list with the program's own routes.
"""

import contextlib
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Page

from app.web.security.unread import MAX_POSTED_BYTES
from tests.browser.seed import BOUND, MANY, PAST_TESTS, PLAIN, TEMPERATURES
from tests.builders import form_rows

# Answers that are files or data and no pages.
FILES = {
    "chart_library",
    "page_styles",
    "original_file",
    "photo",
    "plan_calendar",
    "next_test_calendar",
    "link_code",
    "tests_csv",
    "tests_json",
    "curves_csv",
    "curves_json",
    "readings_csv",
    "readings_json",
    "result_json",
    # Visited as the file that it is: "file to send".
    "battery_file",
    "health",
}
# Something done on a page that is open, with the addresses of what was made.
Act = Callable[[Page, dict[str, str]], object]


@dataclass(frozen=True)
class Stop:
    """One state of one page: where it is, what is done there first and how it then answers.

    path may hold names in braces, of the addresses that `filled.fill` gives.
    """

    name: str
    path: str
    status: int = 200
    act: Act | None = None
    printed: bool = False

    def address(self, made: dict[str, str]) -> str:
        return self.path.format(**made)


def posting(to: str, **values: str) -> Act:
    """Send a form as a person could, who had filled it in badly."""

    def act(page: Page, made: dict[str, str]) -> None:
        with page.expect_navigation():
            page.evaluate(
                """([action, values]) => {
                    const form = document.createElement("form");
                    Object.assign(form, {method: "post", action});
                    for (const [name, value] of Object.entries(values)) {
                        const input = document.createElement("input");
                        Object.assign(input, {type: "hidden", name, value});
                        form.append(input);
                    }
                    document.body.append(form);
                    form.submit();
                }""",
                [to.format(**made), values],
            )

    return act


def giving(button: str, name: str, content: bytes, kind: str) -> Act:
    """Give a file to the first field for files and press the button."""

    def act(page: Page, made: dict[str, str]) -> None:
        file = {"name": name, "mimeType": kind, "buffer": content}
        page.locator("input[type=file]").first.set_input_files(file)
        page.get_by_role("button", name=button, exact=True).click()
        page.wait_for_load_state()

    return act


def past_tests_answered(page: Page, made: dict[str, str]) -> None:
    """A table of past tests whose questions are answered, but for one about a row."""
    giving("Check the table", *PAST_TESTS)(page, made)
    for name in ("charge", "end"):
        page.locator(f"#{name}").check()
    page.locator("#meter").select_option(index=1)
    page.get_by_role("button", name="Continue", exact=True).click()
    page.wait_for_load_state()


def past_tests_unanswered(page: Page, made: dict[str, str]) -> None:
    """A table of past tests whose questions were passed over."""
    giving("Check the table", *PAST_TESTS)(page, made)
    page.get_by_role("button", name="Continue", exact=True).click()
    page.wait_for_load_state()


def from_another_site(page: Page, made: dict[str, str]) -> None:
    """A form of a page that is not Fadeline's is sent to it."""
    page.goto("about:blank")
    posting("{address}/meters", name="Foreign")(page, made)


def giving_too_much(page: Page, made: dict[str, str]) -> None:
    """A file far above what is read at all; nothing of it is on the disk."""
    path = Path(made["folder"]) / "far-too-large.csv"
    with path.open("wb") as file:
        file.truncate(MAX_POSTED_BYTES + 1)
    page.locator("input[type=file]").first.set_input_files(path)
    with page.expect_navigation():
        page.locator("form:has(input[type=file])").first.evaluate("(form) => form.submit()")
    path.unlink()


def while_the_data_are_held(page: Page, made: dict[str, str]) -> None:
    """Another program keeps the data file to itself."""
    with contextlib.closing(sqlite3.connect(Path(made["folder"]) / "data" / "fadeline.db")) as held:
        held.execute("BEGIN IMMEDIATE")
        posting("/preferences", **_PREFERRED)(page, made)


def with_a_fault(page: Page, made: dict[str, str]) -> None:
    """Something that the program does not expect: its clock does not answer."""
    # While the network is open the page of the fault would ask the clock, too.
    posting("/network/close", door="shared")(page, made)
    clock = Path(made["folder"]) / "clock"
    moment = clock.read_text()
    clock.unlink()
    page.goto(made["address"] + "/")
    clock.write_text(moment)


def on_the_network(page: Page, made: dict[str, str]) -> None:
    """The link is opened there, and its page has the code."""
    posting("/network/open")(page, made)
    page.goto(made["address"] + made["link_battery"])


def saved(page: Page, made: dict[str, str]) -> None:
    """Save the file to send and open it from the disk, as its receiver does."""
    file = Path(made["folder"]) / "sent.html"
    file.write_bytes(page.request.get(made["address"] + f"/batteries/{MANY}/file.html").body())
    page.goto(file.as_uri())


_PREFERRED = {"language": "device", "temperature": "celsius", "dates": "words", "decimals": "point"}
_TYPED = {
    "day": "2026-11-01",
    "start_time": "08:30",
    "charge_condition": "full_rested",
    "end_reason": "protection",
    "meter": "shunt",
    **form_rows([(f"{h}:00", "9", f"{13.2 - h * 0.1:.1f}", 22, 100 - 9 * h) for h in range(11)]),
}
_RESULT = {
    "day": "2026-11-01",
    "counted_ah": "96.4",
    "charge_condition": "full_rested",
    "end_reason": "protection",
    "meter": "shunt",
}
# A slip of the decimal point in every reading.
_TENFOLD = _TYPED | form_rows([(f"{h}:00", "90", "12.8", 22, "") for h in range(11)])

EMPTY = (
    Stop("empty start", "/"),
    Stop("empty meters", "/meters"),
    Stop("empty places", "/places"),
    Stop("empty bin", "/bin"),
    Stop("empty records", "/records"),
    Stop("empty comparison", "/comparison"),
    Stop("door without a passphrase", "/door"),
)
FULL = (
    Stop("batteries", "/"),
    Stop("list of batteries", "/batteries"),
    Stop("battery with many tests", f"/batteries/{MANY}"),
    Stop("battery with a lower bound only", f"/batteries/{BOUND}"),
    Stop("battery with one test", "{one_test}"),
    Stop("battery without a test", "{no_test}"),
    Stop("battery after an edit", f"/batteries/{PLAIN}?done=edit.battery.{PLAIN}.2"),
    Stop("tests of a battery", f"/batteries/{MANY}/tests"),
    Stop("curves", f"/batteries/{MANY}/curves"),
    Stop("new battery", "/batteries/new"),
    Stop("new battery refused", "/batteries/new", 422, posting("/batteries", rated_ah="x")),
    Stop("edit battery", f"/batteries/{MANY}/edit"),
    Stop("new test", f"/batteries/{MANY}/discharges/new"),
    Stop(
        "new test with only the result",
        f"/batteries/{MANY}/discharges/new",
        act=posting(f"/batteries/{MANY}/discharges", action="check", **_RESULT),
    ),
    Stop(
        "new test with a counter",
        f"/batteries/{MANY}/discharges/new",
        act=posting(f"/batteries/{MANY}/discharges", action="counter"),
    ),
    Stop(
        "new test refused",
        f"/batteries/{MANY}/discharges/new",
        422,
        posting(f"/batteries/{MANY}/discharges", rows="12", time_0="x", current_0="9"),
    ),
    Stop(
        "new test checked",
        f"/batteries/{MANY}/discharges/new",
        act=posting(f"/batteries/{MANY}/discharges", **_TYPED, action="check"),
    ),
    Stop(
        "new test asked about",
        f"/batteries/{MANY}/discharges/new",
        422,
        posting(f"/batteries/{MANY}/discharges", **_TENFOLD, action="store"),
    ),
    Stop("past tests", "{no_test}/past-tests"),
    Stop("past tests refused", "{no_test}/past-tests", 422, posting("{no_test}/past-tests")),
    Stop(
        "past tests looked at", "{no_test}/past-tests", act=giving("Check the table", *PAST_TESTS)
    ),
    Stop("past tests unanswered", "{no_test}/past-tests", 422, past_tests_unanswered),
    Stop("past tests with what each will be", "{no_test}/past-tests", act=past_tests_answered),
    Stop("test measured", "/discharges/18"),
    Stop("test asked about", "{asked_about}"),
    Stop("test with a photo", "{photographed}"),
    Stop("test with a lower bound", "/discharges/27"),
    Stop("test of no use", "{unusable}"),
    Stop("test of which only the result was noted", "{noted}"),
    Stop("edit test", "/discharges/18/edit"),
    Stop("test report", "/discharges/18/report"),
    Stop("test report printed", "/discharges/18/report", printed=True),
    Stop("battery report", f"/batteries/{MANY}/report"),
    Stop("battery report printed", f"/batteries/{MANY}/report", printed=True),
    Stop("battery printed", f"/batteries/{MANY}", printed=True),
    Stop("plan", f"/batteries/{MANY}/plan?current_a=9"),
    Stop("plan refused", f"/batteries/{MANY}/plan?current_a=x", 422),
    Stop("road", f"/batteries/{MANY}/road"),
    Stop("road on a day", f"/batteries/{MANY}/road?on=2028-06-01"),
    Stop("road of one without tests", "{no_test}/road"),
    Stop("warranty", f"/batteries/{MANY}/warranty"),
    Stop("warranty of one without tests", "{no_test}/warranty"),
    Stop("heat", f"/batteries/{MANY}/heat"),
    Stop("heat of one without a place", "{no_test}/heat"),
    Stop("heat in plain words", "/heat-in-plain-words"),
    Stop("comparison", f"/comparison?battery={MANY}&battery={PLAIN}"),
    Stop("comparison before and after", f"/comparison?battery={MANY}&moved_on=2024-12-26"),
    Stop("event", "/events/1/edit"),
    Stop("start a run", "{no_test}/runs/new"),
    Stop("running test", "{run}"),
    Stop("running test with a word", "{run}", act=posting("{run}/feed")),
    Stop("running test refused", "{run}", 422, posting("{run}/readings", current_a="x")),
    Stop("run given up", "{run_given_up}"),
    Stop("meters", "/meters"),
    Stop("meter", "{meter}"),
    Stop("places", "/places"),
    Stop("new place", "/places/new"),
    Stop("place", "{place}"),
    Stop("edit place", "{place}/edit"),
    Stop("temperature file", "/places/1", act=giving("Check the file", *TEMPERATURES)),
    Stop("temperature file refused", "{place}", 422, giving("Check the file", *TEMPERATURES)),
    Stop("choose a link", f"/batteries/{MANY}/share"),
    Stop("link", "{link_battery}"),
    Stop("link on the network", "{link_battery}", act=on_the_network),
    Stop("network that is closed", "/network", act=posting("/network/close", door="shared")),
    Stop("network that is open", "/network", act=posting("/network/open")),
    Stop("network refused", "/network", 422, posting("/network/open", address="203.0.113.9")),
    Stop("closed link of the owner", "{link_closed}"),
    Stop("shared battery", "{shared_battery}"),
    Stop("shared test", "{shared_test}"),
    Stop("shared batteries", "{shared_several}"),
    Stop("shared link that is closed", "{shared_closed}", 404),
    Stop("file to send", f"/batteries/{MANY}", act=saved),
    Stop("received", "/received"),
    Stop("received nothing", "/received", 422, posting("/received")),
    Stop("settings", "/settings"),
    Stop("help", "/help"),
    Stop("method", "/method"),
    Stop("words", "/words"),
    Stop("a good test", "/good-test"),
    Stop("for scripts", "/help/scripts"),
    Stop("preferences", "/preferences"),
    Stop("sign in", "/sign-in"),
    Stop("sign in refused", "/sign-in", 422, posting("/sign-in", passphrase="x")),
    Stop("who gets in", "/door"),
    Stop("who gets in refused", "/door", 422, posting("/door/passphrase", passphrase="x")),
    Stop("records", "/records"),
    Stop("restore records", "/records/restore"),
    Stop("history", f"/history/battery/{PLAIN}"),
    Stop("bin", "/bin"),
    Stop("removal", "{removal}"),
    Stop("removal outdated", "{removal}", 409, posting("{removal}", seen="other")),
    Stop("no such page", "/nowhere", 404),
    Stop("no such battery", "/batteries/99999", 404),
    Stop("not open", "/meters", 403, from_another_site),
    Stop("too much at once", "/received", 413, giving_too_much),
    Stop("not taken", "/", 422, posting("/look", look="x")),
    Stop("a fault", "/", 500, with_a_fault),
    Stop("data file in trouble", "/preferences", 503, while_the_data_are_held),
)
