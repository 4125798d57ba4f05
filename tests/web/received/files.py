"""Sent files: looked at, kept and forged."""

import base64
import contextlib
import csv
import io
import re
from datetime import UTC, date, datetime, timedelta

from app.domain.entities.event import EventKind
from app.server.application import create_app
from app.services.entities import batteries, events
from app.settings import Settings
from tests.archives import entries_of, packed, relist
from tests.builders import NOW, add_five_tests, battery_details
from tests.conftest import here
from tests.web.conftest import soup

ADDRESS = re.compile(r'(href="data:application/zip;base64,)([^"]*)"')


@contextlib.contextmanager
def elsewhere(folder):
    """A browser at another Fadeline, of whoever gets the file."""
    made = create_app(Settings(data_dir=folder, busy_timeout_ms=200))
    made.state.clock = lambda: NOW
    with here(made) as browser:
        yield browser
    made.state.store.engine.dispose()


def with_five_tests(store):
    battery = batteries.add_battery(store, battery_details())
    add_five_tests(store, battery)
    events.add_event(store, battery.id, date(2026, 1, 5), EventKind.MOVED, "SECRETEVENT")
    return battery


def store_of(browser):
    return browser.app.state.store


def look(browser, text):
    content = text if isinstance(text, bytes) else text.encode()
    return browser.post("/received", files={"file": ("sent.html", content, "text/html")})


def keep(browser, text):
    staged = soup(look(browser, text)).select_one("input[name=staged]")["value"]
    return browser.post("/received", data={"staged": staged})


def holds(browser):
    return [one.details.name for one in batteries.kept_batteries(store_of(browser))]


def with_data(text, change):
    """The file with its ZIP replaced by what change makes of it."""
    data = base64.b64decode(ADDRESS.search(text).group(2))
    packed_again = base64.b64encode(change(data)).decode()
    return ADDRESS.sub(lambda found: f'{found.group(1)}{packed_again}"', text)


def rewritten(data, edit):
    """A ZIP with edited entries whose hashes are right again: a careful forger's."""
    entries = {name: edit(name, held) for name, held in entries_of(io.BytesIO(data)).items()}
    relist(entries)
    return packed(entries, io.BytesIO()).getvalue()


def edited(text, path, old, new):
    def edit(name, content):
        if not name.startswith(path) or name.endswith("schema.json"):
            return content
        assert old in content
        return content.replace(old, new)

    return with_data(text, lambda data: rewritten(data, edit))


def multiplied(text, count):
    """The file with so many tests in its data, half a day apart: its own ones over and over."""

    def multiply(name, content):
        if name == "tables/discharge.csv":
            return _csv(_tests(*csv.reader(io.StringIO(content.decode())), count=count))
        if name.startswith("readings/") and name.endswith(".csv"):
            return _csv(_readings(*csv.reader(io.StringIO(content.decode())), count=count))
        return content

    return with_data(text, lambda data: rewritten(data, multiply))


def _tests(head, *rows, count):
    yield head
    first = datetime(2015, 1, 1, tzinfo=UTC)
    for number in range(count):
        row = dict(zip(head, rows[number % len(rows)], strict=True))
        start = f"{first + timedelta(days=number / 2):%Y-%m-%dT%H:%M:%S.%fZ}"
        yield (row | {"id": number + 1, "uid": f"{number:032x}", "started_at": start}).values()


def _readings(head, *rows, count):
    yield head
    by_test = {}
    for row in rows:
        by_test.setdefault(row[0], []).append(row[1:])
    for number in range(count):
        test = list(by_test.values())[number % len(by_test)]
        yield from ([f"{number:032x}", *row] for row in test)


def _csv(rows):
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue().encode()
