import pytest

from app.analysis.battery.expected_capacity import capacity_guess
from tests.records import battery, record, report_of


@pytest.mark.parametrize(
    ("capacities", "words"),
    [
        ([95.0], "projected from its 1 measured test"),
        ([97.0, 95.0], "projected from its 2 measured tests"),
    ],
)
def test_a_guess_says_how_many_tests_it_is_from(capacities, words):
    of = battery()
    assert capacity_guess(report_of(of, record(of, capacities))).words == words
