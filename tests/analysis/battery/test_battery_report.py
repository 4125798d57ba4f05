from app.analysis.evidence.result import analyse_test
from app.domain.entities.discharge import Discharge
from app.domain.readings import Readings
from tests.builders import discharge_details
from tests.records import battery, record, report_of, stopped


def newest(tests, of):
    return report_of(of, tests).newest_words


def test_a_test_stopped_early_is_told_as_a_lower_bound():
    """60 Ah were drawn; its doubt, a few percent at the most, is taken off."""
    of = battery()
    words = newest(stopped(of, 60.0), of)
    assert words.startswith("At least 5")
    assert "cannot tell how much more" in words


def test_a_measured_test_is_told_with_its_share_of_the_rated_capacity():
    of = battery(rated_ah=200.0)
    assert newest(record(of, [150.0]), of).endswith("75 % of the rated 200 Ah.")


def test_a_test_whose_current_was_not_seen_for_most_of_it_proves_nothing():
    of = battery()
    readings = Readings.of([0, 3600, 9 * 3600, 36000], [9.0] * 4, [13.2, 13.1, 12.6, 10.0])
    details = discharge_details(readings)
    result = analyse_test(details, of.details, None)
    words = newest([(Discharge(1, of.id, details, 1), result, None)], of)
    assert words == "The test of 15 Nov 2026 proves nothing."
