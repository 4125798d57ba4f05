"""Whatever is sent, nothing breaks: no fault of the server, no damage in the data.

EXAMPLES=500 python -m pytest tests/web/test_fuzz.py searches longer than every day.
"""

import os
from dataclasses import replace

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails
from app.domain.entities.run import RunDetails
from app.services.backups.data_check import check_file
from app.services.entities import batteries, events, places, runs
from app.settings import MIGRATIONS
from tests.builders import NOW
from tests.web.conftest import soup

EXAMPLES = int(os.environ.get("EXAMPLES", "8"))
SEARCH = settings(
    max_examples=EXAMPLES,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
# What people and attackers type, beside any text at all.
KNOWN = (
    ("", " ", "0", "-1", "1e999", "nan", "1,5", "１２", "1h30", "850 mA", "100 %", "on", "lfp"),
    ("2026-02-30", "2026-11-01", "0001-01-01T00:00", "9999-12-31T23:59", "25:61", "1:00"),
    ("<script>alert(1)</script>", "'; DROP TABLE battery; --", "=1+1", "\0", "\ud800", "9" * 400),
    ("../../etc/passwd", "{{ 7 * 7 }}", "{name}", "%s%n", "\r\nSet-Cookie: a=b"),
)
TYPED = st.one_of(
    *(st.sampled_from(some) for some in KNOWN),
    st.integers().map(str),
    st.floats().map(str),
    st.text(max_size=40),
)
PAGES_WITH_FORMS = (
    "/batteries/new",
    "/batteries/1",
    "/batteries/1/edit",
    "/batteries/1/discharges/new",
    "/batteries/1/runs/new",
    "/batteries/1/plan",
    "/batteries/1/road",
    "/batteries/1/heat",
    "/batteries/1/share",
    "/discharges/5",
    "/discharges/5/edit",
    "/runs/1",
    "/meters",
    "/meters/1",
    "/places/new",
    "/places/1",
    "/places/1/edit",
    "/events/1/edit",
    "/comparison",
    "/records",
    "/preferences",
    "/received",
    "/bin",
    "/door",
)


@pytest.fixture
def filled(client, store, tested):
    about = replace(tested.details, daily_use_ah=20.0, nights=3.0)
    batteries.change_battery(store, tested.id, about, NOW)
    events.add_event(store, tested.id, NOW.date(), EventKind.REPAIR, "new lug")
    gone = events.add_event(store, tested.id, NOW.date(), EventKind.OTHER, "by mistake")
    events.bin_event(store, gone.id, NOW)
    places.add_place(store, PlaceDetails("shed"))
    details = RunDetails(NOW, 0, ChargeCondition.FULL_RESTED, 0)
    runs.start_run(store, tested.id, details, MeterKind.SHUNT, NOW)
    return client


@pytest.fixture
def operations(app):
    """What the description of the interface (OpenAPI) says that one may ask."""
    described = schemathesis.openapi.from_dict(app.openapi())
    return [found.ok() for found in described.get_all_operations()]


@settings(SEARCH, max_examples=12 * EXAMPLES)
@given(data=st.data())
def test_the_interface_answers_whatever_it_is_asked(filled, operations, data):
    """Requests made from the description of the interface, fitting and not."""
    case = data.draw(data.draw(st.sampled_from(operations)).as_strategy())
    body = None if isinstance(case.body, schemathesis.core.NotSet) else case.body
    answer = filled.request(
        case.method,
        case.formatted_path,
        params=case.query or None,
        json=body,
        # As octets: a value may hold any of them (RFC 9110, 5.5), and a client encodes ASCII only.
        headers={n: str(value).encode() for n, value in (case.headers or {}).items()},
    )
    assert answer.status_code < 500, answer.text
    assert answer.headers["content-type"].startswith("application/json")


def forms_of(page):
    """Address, method and names of the fields of every form of a page that stays on it."""
    for form in page.select("main form"):
        names = [one["name"] for one in form.select("input[name], select[name], textarea[name]")]
        files = {one["name"] for one in form.select("input[type=file]")}
        names += [one["name"] for one in form.select("button[name]")]
        yield form.get("action", ""), form.get("method", "get"), names, files


@pytest.mark.data_file
@pytest.mark.parametrize("path", PAGES_WITH_FORMS)
@SEARCH
@given(which=st.integers(0, 20), typed=st.lists(TYPED, min_size=7), file=st.binary(max_size=300))
def test_a_form_takes_or_refuses_whatever_is_typed(filled, app, path, which, typed, file):
    answer = filled.get(path)
    if answer.status_code != 200:
        # An earlier form of the same search has moved it to the bin.
        assert answer.status_code == 404
        return
    forms = list(forms_of(soup(answer)))
    if not forms:
        return
    action, method, names, files = forms[which % len(forms)]
    texts = [text.encode(errors="replace").decode() for text in typed]
    values = {name: texts[at % len(texts)] for at, name in enumerate(names) if name not in files}
    if method == "get":
        answer = filled.get(action or path, params=values)
    else:
        sent = dict.fromkeys(files, ("a\x00“.csv", file, "text/csv"))
        answer = filled.post(action or path, data=values, files=sent or None)
    assert answer.status_code < 500, answer.text[:2000]
    assert "<script>alert(1)" not in answer.text
    assert "a=b" not in str(answer.headers)
    assert check_file(app.state.settings.database, MIGRATIONS).damages == ()


def test_there_is_a_form_on_each_of_these_pages(filled):
    assert [path for path in PAGES_WITH_FORMS if not [*forms_of(soup(filled.get(path)))]] == []
