import pytest
from bs4 import BeautifulSoup

from app.analysis.heat.heat_in_plain_words import warmth_table

pytestmark = pytest.mark.any_database


def test_the_figures_are_those_of_the_published_models(client):
    rows = {row.temperature_c: row for row in warmth_table()}
    # By hand from the geometric means of the five types after three years, 4.625 and 7.136 %, and
    # the middle exponents: (1/3)^0.6 and (5/3)^0.6 (the doubt of the exponent moves them by 1 %).
    assert rows[25.0].after_one == pytest.approx((2.392, 3.691), rel=0.02)
    assert rows[25.0].after_five == pytest.approx((6.284, 9.696), rel=0.02)
    assert rows[25.0].pace == (1.0, 1.0)
    # 1.4 to 2.2 for ten kelvin.
    assert [round(v, 1) for v in rows[35.0].pace] == [1.4, 2.2]


def test_what_the_text_says_of_the_table_is_so():
    hot = {row.temperature_c: row for row in warmth_table()}[45.0]
    assert 1.8 < hot.pace[0] < 2.2, "about twice"
    assert 4 < hot.pace[1] < 5, "to more than four times as fast"
    assert 9 < hot.after_one[1] < 11, "a year of sitting there full took about a tenth"


def test_a_friend_can_read_it_from_another_device(app, client):
    page = BeautifulSoup(client.get("/heat-in-plain-words").text, "html.parser")
    text = page.select_one("main").get_text(" ")
    sources = len(page.select("ol > li"))
    for number in range(1, sources + 1):
        assert f"[{number}" in text or f", {number}" in text
    assert 500 < len(text.split()) < 1200, "short enough to be read to its end"
