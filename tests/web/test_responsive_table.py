import pytest
from bs4 import BeautifulSoup
from markupsafe import Markup

from app.web.rendering.responsive_table import stacked

pytestmark = pytest.mark.any_database

TABLE = Markup("""<table class="sides">
  <thead><tr><th scope="col">Pair</th>
  <th scope="col">Points <span class="hint">a year</span></th><th scope="col"></th></tr></thead>
  <tbody>
  <tr class="odd"><th scope="row">One less two</th><td class="words">0.4</td>
  <td><a href="/x">Edit</a></td></tr>
  <tr><th scope="row">Event</th><td colspan="2">moved</td></tr>
  </tbody>
</table>""")


def made():
    return BeautifulSoup(stacked(TABLE), "html.parser").table


def test_every_cell_says_the_heading_of_its_column():
    first, second = made().tbody.select("tr")
    assert [cell.get("data-head") for cell in first.select("td")] == ["Points a year", None]
    # What reaches over several columns belongs to none.
    assert [cell.get("data-head") for cell in second.select("td")] == [None]


def test_a_table_whose_cells_speak_for_themselves_names_none():
    assert "data-head" not in stacked(TABLE, named=False)


def test_what_nobody_sees_between_rows_and_cells_is_not_sent():
    made = stacked(Markup(str(TABLE).replace("0.4</td>", "0.4\n  </td>\n ")))
    rows = made.partition("<tbody")[2].split("\n<tr")[1:]
    assert [row.partition("</tr>")[0].count("\n") for row in rows] == [0, 0]
    assert ">0.4</td><td" in made


def test_a_table_of_cards_is_still_told_as_a_table():
    table = made()
    assert table["role"] == "table"
    assert {one["role"] for one in table.select("thead, tbody")} == {"rowgroup"}
    assert {one["role"] for one in table.select("tr")} == {"row"}
    assert {one["role"] for one in table.select("thead th")} == {"columnheader"}
    assert {one["role"] for one in table.select("tbody th")} == {"rowheader"}
    assert {one["role"] for one in table.select("td")} == {"cell"}


def test_what_the_template_wrote_stays():
    table = made()
    assert table["class"] == ["stacked", "sides"]
    assert table.select_one("tr.odd td.words").text == "0.4"
    assert table.a["href"] == "/x"
    plain = TABLE.replace(' class="sides"', "")
    assert BeautifulSoup(stacked(plain), "html.parser").table["class"] == ["stacked"]


def test_each_cell_of_the_curves_page_is_named(client, tested):
    page = BeautifulSoup(client.get(f"/batteries/{tested.id}/curves").text, "html.parser")
    names = [cell["data-head"] for cell in page.select("#curves-table tbody tr:first-child td")]
    assert names == ["Charge", "Energy", "Mean voltage", "Mean current", "Temperature"]
