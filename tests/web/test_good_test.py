"""The guide to a good test: steps, what to note, what makes it what, with its cautions first."""

import re

import pytest

from app.domain.entities.discharge import ChargeCondition, EndReason
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database


@pytest.fixture
def guide(client):
    return soup(client.get("/good-test"))


def words_of(page) -> str:
    return " ".join(page.main.text.split())


def test_the_cautions_stand_before_the_first_step(guide):
    said = words_of(guide)
    for caution in ("maker's datasheet", "below 0 °C", "load gets hot", "unattended", "Fuse"):
        assert caution in said
    assert said.index("datasheet, local codes and licensed practice") < said.index("The steps")


def test_the_steps_go_from_the_datasheet_to_charging_again(guide):
    steps = [step.strong.text for step in guide.select(".steps > li")]
    assert "datasheet" in steps[0]
    assert "Charge it again" in steps[-1]
    assert any("end" in step for step in steps)


def test_each_figure_of_a_standard_has_a_source_that_is_listed(guide):
    sources = guide.select(".sources > li")
    cited = {int(one) for one in re.findall(r"\[(\d)\]", words_of(guide))}
    assert cited <= set(range(1, len(sources) + 1))
    assert cited == {1, 2, 3}
    assert "IEC 62619, 7.1" in sources[0].text
    assert "common practice" in sources[-1].text


def test_it_says_what_makes_a_test_measured_a_lower_bound_or_unusable(guide):
    """By the marks that stand beside results."""
    marks = [kind.text for kind in guide.select("dt .kind")]
    assert marks == ["measured", "lower bound", "unusable"]


def test_nothing_of_the_guide_comes_from_the_internet(guide):
    for tag, name in (("img", "src"), ("script", "src"), ("link", "href"), ("a", "href")):
        for found in guide.select(f"{tag}[{name}]"):
            assert not found[name].startswith(("http", "//")), found


@pytest.mark.parametrize(
    "path", ["/batteries/1/discharges/new", "/batteries/1/plan", "/batteries/1/runs/new"]
)
def test_the_pages_of_the_test_day_lead_to_it(client, battery, path):
    assert soup(client.get(path)).main.select("a[href='/good-test']")


def test_the_empty_start_leads_to_it(client):
    assert soup(client.get("/")).main.select("a[href='/good-test']")


def test_the_guide_agrees_with_what_the_programme_asks(guide):
    """Full and rested, and an end that claims the battery empty: the same as the evidence asks."""
    assert ChargeCondition.FULL_RESTED.full
    assert {one for one in EndReason if one.claims_empty} == {
        EndReason.PROTECTION,
        EndReason.CUT_OFF_VOLTAGE,
    }
    measured = "protection switched off, or the voltage under a light load fell to the cut-off"
    assert measured in words_of(guide)


def test_what_to_note_is_named_where_its_headings_are_out_of_sight(guide):
    cells = guide.select("#note + .scroll tbody tr:first-child td")
    assert [one["data-head"] for one in cells] == ["What", "Used for"]
