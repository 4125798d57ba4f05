"""Reports as Chromium prints them: paper, pages, and nothing cut in two or cut off."""

import functools
import io
import re
from pathlib import Path

import pypdf
import pytest

from app.domain.entities.discharge import EndReason
from app.domain.entities.meter import MeterKind
from app.domain.readings import Readings
from app.server.application import create_app
from app.services.entities import batteries, discharges
from app.settings import Settings
from tests.browser.conftest import Watch
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.live_server import server_in_thread

# Width and height in points: ISO 216, and 8.5 by 11 inches.
PAPER = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}
ONE, FORTY, MINUTES = 1, 2, 3
MIN_WORDS = 40


def early(number: int) -> bool:
    return number % 7 == 5


def nearly_worn(number: int) -> Readings:
    """One of forty tests; each seventh was stopped early and gives a lower bound."""
    amps = 10.6 - 0.05 * number
    return steady(hours=8, amps=amps, last_v=12.8) if early(number) else steady(amps=amps)


def fill(folder: Path) -> None:
    """A battery with one test, one with forty, one with a log of every minute."""
    store = create_app(Settings(data_dir=folder / "data")).state.store
    logs = {
        ONE: [steady(hours=9)],
        FORTY: [nearly_worn(i) for i in range(40)],
        MINUTES: [steady(hours=11, step_h=1 / 60)],
    }
    for number, readings in logs.items():
        battery = batteries.add_battery(store, battery_details(name=f"Bank {number}"))
        for i, one in enumerate(readings):
            details = discharge_details(
                one,
                days_ago=10 + 91 * (len(readings) - 1 - i),
                end_reason=EndReason.TIME if early(i) else EndReason.PROTECTION,
            )
            discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    store.engine.dispose()


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    folder = tmp_path_factory.mktemp("print")
    fill(folder)
    with server_in_thread(folder) as at:
        yield at


@functools.cache
def printed(browser, address, path, paper):
    """A report as a PDF, printed once however many tests read it, and without a complaint."""
    watch = Watch(address)
    page = watch.over(browser.new_page())
    page.goto(address + path)
    data = page.pdf(format=paper)
    page.close()
    assert watch.complaints == []
    return pypdf.PdfReader(io.BytesIO(data))


@functools.cache
def texts(pdf):
    return [" ".join(page.extract_text().split()) for page in pdf.pages]


EVERYTHING = "/report?chosen=yes&serial=on&place=on&notes=on&readings=on"
CASES = [
    ("/discharges/1/report", 3, 5),
    (f"/batteries/{ONE}/report", 3, 5),
    (f"/batteries/{FORTY}/report", 4, 7),
    (f"/batteries/{FORTY}{EVERYTHING}", 12, 30),
    ("/discharges/42/report", 5, 7),
    (f"/batteries/{MINUTES}{EVERYTHING}", 5, 7),
]


@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize(("path", "fewest", "most"), CASES)
def test_a_report_fills_its_pages_and_counts_them(browser, address, path, fewest, most, paper):
    pdf = printed(browser, address, path, paper)
    said = texts(pdf)
    assert fewest <= len(said) <= most
    number = re.search(r"Report number ([0-9a-f]{12})", said[0])
    assert number is not None
    for i, (page, text) in enumerate(zip(pdf.pages, said, strict=True), start=1):
        size = float(page.mediabox.width), float(page.mediabox.height)
        assert size == pytest.approx(PAPER[paper], abs=1)
        assert f"Page {i} of {len(said)}" in text
        assert f"Report {number[1]} · Bank" in text
        assert len(text.split()) >= MIN_WORDS, text
        assert "Skip to the content" not in text
        assert "What the report shows" not in text


@pytest.mark.parametrize("paper", PAPER)
def test_each_test_s_row_stands_whole_on_one_page(browser, address, paper):
    page = browser.new_page()
    page.goto(f"{address}/batteries/{FORTY}/report")
    rows = page.locator("table.tests tbody tr")
    wanted = [row.locator("th, td").all_inner_texts() for row in rows.all()]
    page.close()
    assert len(wanted) == 40
    said = texts(printed(browser, address, f"/batteries/{FORTY}/report", paper))
    for date, result, *_, number in wanted:
        whole = [text for text in said if number in text]
        assert len(whole) == 1
        assert " ".join(date.split()) in whole[0]
        assert " ".join(result.split()) in whole[0]
    # The heads of the columns are there again on each page that holds rows.
    for text in said:
        if any(number in text for *_, number in wanted):
            assert "Ended because" in text


@pytest.mark.parametrize("paper", PAPER)
def test_a_long_log_s_columns_are_named_on_every_page(browser, address, paper):
    said = texts(printed(browser, address, "/discharges/42/report", paper))
    with_log = [text for text in said if "Counted, Ah" in text]
    assert len(with_log) >= 2
    assert "The table shows 100 of 661 readings" in with_log[0]
    assert re.search(r"\b661 \d\d:\d\d 11 h 00 min", with_log[-1])


@pytest.mark.parametrize("paper", PAPER)
@pytest.mark.parametrize("path", [f"/batteries/{FORTY}", "/discharges/42"])
def test_a_chart_its_heading_and_its_caption_share_a_page(browser, address, path, paper):
    title, axis, caption = (
        ("Fade and end of life", "capacity (Ah)", "holds the true capacity in 90 of 100 cases")
        if "batteries" in path
        else ("Course of the discharge", "charge left (Ah)", "The discharge ended because")
    )
    said = texts(printed(browser, address, f"{path}/report", paper))
    (page,) = [text for text in said if axis in text]
    assert title in page
    assert caption in page


def test_a_german_report_counts_its_pages_in_german(browser, address):
    page = browser.new_page(locale="de-DE")
    page.goto(f"{address}/discharges/1/report")
    pdf = pypdf.PdfReader(io.BytesIO(page.pdf(format="A4")))
    page.close()
    for i, text in enumerate(texts(pdf), start=1):
        assert f"Seite {i} von {len(pdf.pages)}" in text


@pytest.mark.parametrize("paper", PAPER)
def test_the_signatures_stand_together_below_the_scope(browser, address, paper):
    for path in ("/discharges/1/report", f"/batteries/{FORTY}/report"):
        said = texts(printed(browser, address, path, paper))
        (page,) = [text for text in said if "Witnessed by" in text]
        assert page.count("Signature") >= 4
        assert "Scope of this report" in page


def test_a_log_s_last_page_holds_ten_readings_whatever_its_length(browser, tmp_path):
    store = create_app(Settings(data_dir=tmp_path / "data")).state.store
    battery = batteries.add_battery(store, battery_details())
    for hours in (27, 28, 29, 30):
        details = discharge_details(steady(hours=hours, amps=100 / hours), days_ago=hours)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    store.engine.dispose()
    with server_in_thread(tmp_path) as at:
        for number in (1, 2, 3, 4):
            last = texts(printed(browser, at, f"/discharges/{number}/report", "A4"))[-1]
            assert len(re.findall(r"\d\d:\d\d \d+ h \d\d min", last)) >= 10


@pytest.mark.parametrize("paper", PAPER)
def test_nothing_reaches_over_the_edge_of_the_paper(browser, address, paper):
    """What is wider than the paper between its margins would be shrunk or cut off."""
    between = {"A4": 178, "Letter": 184}[paper] * 96 / 25.4
    page = browser.new_page(viewport={"width": int(between), "height": 1000})
    page.emulate_media(media="print")
    for path in ("/discharges/42/report", f"/batteries/{FORTY}{EVERYTHING}"):
        page.goto(address + path)
        wide = page.evaluate(
            "[...document.querySelectorAll('.sheet *')].filter(e => !e.closest('svg'))"
            ".filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML)"
        )
        assert wide == []
    page.close()


def test_a_report_on_a_telephone_does_not_scroll_sideways(browser, address):
    page = browser.new_page(viewport={"width": 360, "height": 740})
    for path in ("/discharges/42/report", f"/batteries/{FORTY}/report"):
        page.goto(address + path)
        assert not page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
        assert page.get_by_role("button", name="Print or save as PDF").is_visible()
    page.close()
