from datetime import date

import pytest

from app.analysis.warranty.warranty_level import warranty_level
from app.domain.warranty import Warranty

FIVE = Warranty(date(2022, 2, 19), 5.0, 0.7)


def test_the_promise_is_a_share_of_the_rated_capacity():
    found = warranty_level(FIVE, 230, date(2026, 11, 1))
    assert found.level.ah == pytest.approx(161)
    assert found.words == (
        "The warranty promises 70 % of the rated 230 Ah (161.0 Ah) from 19 Feb 2022 "
        "until 19 Feb 2027."
    )


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (date(2027, 2, 20), "after it had ended"),
        (date(2022, 2, 18), "before it began"),
    ],
)
def test_a_test_outside_its_time_is_held_against_nothing(day, said):
    found = warranty_level(FIVE, 230, day)
    assert found.level is None
    assert said in found.words


@pytest.mark.parametrize("day", [date(2022, 2, 19), date(2027, 2, 19)])
def test_its_first_and_its_last_day_belong_to_it(day):
    assert warranty_level(FIVE, 230, day).level is not None


def test_no_share_is_no_promise_of_capacity():
    assert warranty_level(Warranty(date(2022, 2, 19), 5.0), 230, date(2026, 1, 1)).words == ""


def test_cycles_are_named_as_not_counted():
    found = warranty_level(Warranty(date(2022, 2, 19), 5.0, 0.7, 3000), 230, date(2026, 1, 1))
    assert "earlier after 3000 full cycles; a capacity test does not count them" in found.words


def test_terms_that_are_not_known_are_said_to_be():
    on = date(2026, 1, 1)
    assert (
        "from which day on was not noted" in warranty_level(Warranty(None, 5, 0.7), 230, on).words
    )
    assert "for how long was not noted" in warranty_level(Warranty(None, None, 0.7), 230, on).words
