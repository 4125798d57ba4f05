"""One file that shows a battery to somebody far away."""

import csv
import json
import re
from dataclasses import replace
from datetime import date, timedelta
from html import unescape

import pytest
from tinyhtml5.parser import HTMLParser

from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.readings import COLUMNS
from app.domain.records.sent_battery import SENT_FIELDS
from app.domain.units.rounding import rounded_down
from app.services.entities import batteries, discharges, events, meters
from app.services.exchange import export_file
from app.web.downloads.battery_file import file_name
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.conftest import soup
from tests.web.sent import address_in, archive_in, file_of, soup_of, table_in
from tests.web.test_private_fields import PRIVATE, PRIVATE_NUMBERS, SHOWN

pytestmark = pytest.mark.any_database


def test_it_is_a_download_under_a_name_that_any_disk_takes(client, store, tested):
    answer = client.get(f"/batteries/{tested.id}/file.html")
    expected = 'attachment; filename="bench-battery-2026-11-25.html"'
    assert answer.headers["content-disposition"] == expected
    named = batteries.add_battery(store, battery_details(name='Ü"b\r\n/../ér <x> 24 V'))
    header = client.get(f"/batteries/{named.id}/file.html").headers["content-disposition"]
    assert re.fullmatch(r'attachment; filename="[a-z0-9-]+\.html"', header)
    other = batteries.add_battery(store, battery_details(name="電池"))
    header = client.get(f"/batteries/{other.id}/file.html").headers["content-disposition"]
    assert 'filename="battery-2026-11-25.html"' in header


def flaws(text):
    """What the HTML standard calls a parse error."""
    parser = HTMLParser()
    parser.parse(text)
    return parser.errors


def test_it_is_valid_html(client, tested):
    events.add_event(client.app.state.store, tested.id, date(2026, 1, 5), EventKind.REPAIR, "")
    assert flaws(file_of(client, tested)) == []


def test_a_battery_without_tests_makes_a_valid_file_too(client, battery):
    text = file_of(client, battery)
    assert flaws(text) == []
    assert "No capacity test yet." in soup_of(text).main.text


def test_it_holds_no_script_and_asks_for_nothing(client, tested):
    text = file_of(client, tested)
    page = soup_of(text)
    assert page.select("script, link, img, iframe, object, form, input, [src], [srcset]") == []
    hrefs = [a["href"][:28] for a in page.select("[href]")]
    assert hrefs == ["#check", "data:application/zip;base64,"]
    assert page.select_one("#check a[download]")
    assert not re.search(r"url\(|@import|https?://", text)
    assert not [e for e in page.select("*") if any(name.startswith("on") for name in e.attrs)]
    policy = page.select_one("meta[http-equiv=Content-Security-Policy]")["content"]
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline'; img-src data:")
    assert page.select_one("meta[name=robots]")["content"] == "noindex, nofollow"
    assert page.title.text == "Bench battery: capacity tests"
    assert page.select_one("meta[name=description]")["content"].startswith("90.0 Ah ±")


def test_each_figure_is_the_one_of_the_page(client, store, tested):
    file = soup_of(file_of(client, tested)).main
    page = soup(client.get(f"/batteries/{tested.id}")).main
    words = " ".join(file.text.split())
    answers = page.select("dl.glance dd")[:3]
    assert len(answers) == 3
    for answer in answers:
        assert " ".join(answer.text.split()) in words
    shown = soup(client.get(f"/batteries/{tested.id}/tests")).select(".all tbody tr")
    rows = [[cell.text.strip() for cell in row.select("th, td")] for row in shown]
    found = file.select_one("table").select("tbody tr")
    assert [[cell.text.strip() for cell in row.select("th, td")] for row in found] == rows
    for number, details in zip(range(5, 0, -1), file.select("details.test"), strict=True):
        own = soup(client.get(f"/discharges/{number}")).main
        said = " ".join(details.text.split())
        assert own.select_one(".headline").text.split(" measured")[0].strip() in said
        for verdict in own.select(".verdict"):
            assert verdict.text.strip() in said
        for row in own.select("section[aria-labelledby=trace-title] tbody tr"):
            assert row.td.text in said
        for row in own.select("section[aria-labelledby=sure-title] tbody tr:not(.sum)"):
            for cell in (row.select("td")[0], row.select("td")[2], row.select("td")[4]):
                assert cell.text in said
        line = details.pre.text.splitlines()[-1].split("  ")
        shown = own.select("section[aria-labelledby=readings-title] tbody tr")[-1].select("td")
        known = {cell.strip() for cell in line if cell.strip()}
        assert known <= {re.sub(" (A|V|°C|Ah|%)$", "", cell.text.strip()) for cell in shown}


def test_its_first_lines_say_what_it_is_and_how_to_check_it(client, tested):
    main = soup_of(file_of(client, tested)).main
    first = " ".join(main.select("p")[1].text.split())
    assert first.startswith("This file shows how much one house battery holds: 5 capacity tests,")
    assert "check every figure" in first
    # Then the order of the battery's page.
    order = [main.select_one(name) for name in ("dl.glance", "figure.chart", "dl.how", "details")]
    assert order == sorted(order, key=list(main.find_all(True)).index)


def test_it_has_the_trend_of_the_page_and_a_picture_of_every_test(client, tested):
    page = soup_of(file_of(client, tested))
    (trend,) = page.select("section > figure > .still > svg")
    assert len(trend.select("circle")) == 5
    courses = page.select("details.test figure.course > svg")
    assert len(courses) == 5
    # What is drawn ends where the count and the voltage ended: 90 of 100 Ah after 10 hours, 10 V.
    assert courses[0]["aria-label"] == "90.0 Ah counted in 10.0 h"
    _, counted, volts, _ = (path["d"] for path in courses[0].select("path"))
    assert counted == "M110 20L641 191"
    assert volts.startswith("M110 240L")
    assert volts.endswith("L641 330")


def test_all_readings_are_in_its_data_bit_for_bit(client, store, tested):
    text = file_of(client, tested)
    uid = table_in(text, "discharge")[0]["uid"]
    rows = list(csv.reader(archive_in(text).read("readings/0001.csv").decode().splitlines()))
    readings = discharges.show_discharge(store, 1).discharge.details.readings
    assert rows[0] == ["test", *COLUMNS, "counted_ah"]
    own = [row[1:] for row in rows if row[0] == uid]
    assert [float(row[1]) for row in own] == list(readings.current_a)
    assert [float(row[2]) for row in own] == list(readings.voltage_v)


def test_its_data_are_described_and_only_what_is_decided_goes_out(client, tested):
    text = file_of(client, tested)
    package = json.loads(archive_in(text).read("datapackage.json"))
    assert package["fadeline"]["kind"] == "battery"
    for name, fields in SENT_FIELDS.items():
        resource = next(one for one in package["resources"] if one["name"] == name)
        keys = {"id", "uid", "meter_id"}
        assert {one["name"] for one in resource["schema"]["fields"]} - keys == set(fields)
    kinds = {one.__name__: fields for one, fields in SHOWN.items()}
    assert set(SENT_FIELDS["battery"]) == kinds["BatteryDetails"]
    assert set(SENT_FIELDS["discharge"]) == kinds["DischargeDetails"] - {"readings"}
    assert set(SENT_FIELDS["meter"]) == kinds["MeterDetails"]
    assert set(SENT_FIELDS["event"]) == kinds["Event"]


def test_nothing_private_is_in_it_or_in_its_data(client, store):
    from app.domain.entities.battery import BatteryDetails

    battery = batteries.add_battery(store, battery_details(**PRIVATE[BatteryDetails]))
    meter = meters.add_meter(store, MeterDetails("SECRETMETER", MeterKind.SHUNT, 1.0, 0.1, 0.1))
    details = discharge_details(
        notes="SECRETTESTNOTES",
        source="SECRETFILE.csv",
        assumptions=("SECRETASSUMPTION",),
        import_uid="SECRETIMPORT",
        charge_condition=ChargeCondition.FULL,
    )
    discharges.add_discharge(store, battery.id, details, meter.id, NOW)
    events.add_event(store, battery.id, date(2026, 1, 5), EventKind.MOVED, "SECRETEVENT")
    text = file_of(client, battery)
    archive = archive_in(text)
    parts = [text.replace(address_in(text), ""), *archive.namelist()]
    parts += [archive.read(name).decode() for name in archive.namelist()]
    for part in parts:
        # Hashes and lasting names are random digits, which could be those of anything.
        readable = re.sub("[0-9a-f]{32,64}", "", part)
        for word in ("SECRET", *PRIVATE_NUMBERS):
            assert word not in readable


def test_texts_of_the_owner_cannot_become_elements(client, store):
    name = "</title><script>alert(1)</script>"
    battery = batteries.add_battery(store, battery_details(name=name))
    details = discharge_details(load='"><img src=x onerror=a>')
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    text = file_of(client, battery)
    assert flaws(text) == []
    assert soup_of(text).select("script, img") == []
    assert unescape(soup_of(text).h1.text) == name


def test_it_says_where_the_numbers_come_from(app, client, tested):
    words = " ".join(soup_of(file_of(client, tested)).main.text.split())
    assert "computed by Fadeline 0.1.0 from" in words
    assert "readings in 5 tests that the owner entered, as of 25 Nov 2026" in words
    assert "The first test is of 16 Nov 2022, the newest of 15 Nov 2026." in words
    assert "invented" not in words
    app.state.settings = replace(app.state.settings, demo=True)
    page = soup_of(file_of(client, tested))
    assert "invented" in page.select_one(".demo").text
    assert "The tests are invented." in page.main.text


def test_a_lower_bound_stays_one(client, store, battery):
    details = discharge_details(steady(hours=6, last_v=12.9), end_reason=EndReason.TIME)
    test = discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    report = discharges.show_discharge(store, test.id).report
    page = soup_of(file_of(client, battery))
    assert f"At least {report.lower_ah:.1f} Ah" in page.select_one(".test summary").text
    row = next(tr for tr in page.select(".test tr") if "lower bound" in tr.text)
    assert row.td.text == f"{rounded_down(report.lower_ah, 2):.2f} Ah"


def test_the_same_battery_gives_the_same_file(client, tested):
    assert file_of(client, tested) == file_of(client, tested)


def test_a_file_of_another_day_has_another_name(store, tested):
    later = NOW.date() + timedelta(days=1)
    sent = export_file.battery_to_send(store, tested.id, later, "0.1.0", demo=False)
    assert file_name(sent) == "bench-battery-2026-11-26"


def test_the_pages_lead_to_it(client, tested):
    for path in (f"/batteries/{tested.id}", f"/batteries/{tested.id}/share"):
        hrefs = [a["href"] for a in soup(client.get(path)).select("a[href]")]
        assert f"/batteries/{tested.id}/file.html" in hrefs


def test_whoever_reads_another_language_is_told_that_the_file_is_in_english(client, tested):
    page = f"/batteries/{tested.id}/share"
    assert "Die Datei ist auf Englisch." in client.get(page, headers={"accept-language": "de"}).text
    assert "The file is in English." not in client.get(page).text


def test_it_says_that_its_end_of_life_leaves_out_use_and_place(client, store, tested):
    """Both are private, and the owner's page reckons with them: the dates may differ."""
    details = battery_details(full_discharges_a_year=300.0)
    batteries.change_battery(store, tested.id, details, NOW)
    main = soup_of(file_of(client, tested)).main
    said = " ".join(main.select_one(".caveat.remarks").text.split())
    assert said.startswith("The end of life is worked out without the battery's use and place")
    assert "where it lives" not in main.text
    own = soup(client.get(f"/batteries/{tested.id}")).main.text
    assert "worked out without" not in own
    agm = replace(details, chemistry=Chemistry.AGM)
    batteries.change_battery(store, tested.id, agm, NOW)
    assert "worked out without" not in file_of(client, tested), "neither bears on lead-acid"
