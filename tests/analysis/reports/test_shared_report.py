"""What a link shows of a battery is what its owner chose, and nothing of the rest."""

import pytest

from app.analysis.reports.shared_report import EVERYTHING, shared_report
from app.domain.share import SharePart
from tests.records import battery, record, report_of


@pytest.mark.parametrize("shows", [EVERYTHING, *(frozenset({part}) for part in SharePart)])
def test_the_capacities_are_in_the_data_only_with_the_fade(shows):
    """The points of the trend hold the day and the capacity of every test."""
    of = battery()
    report = report_of(of, record(of, (100.0, 97.0, 94.0)))
    shared = shared_report(report, shows)
    faded = SharePart.FADE in shows
    assert shared.points == (report.points if faded else ())
    assert shared.fade == (report.fade if faded else None)
    assert (shared.watch_words != "") is faded
    assert (shared.end_of_life is not None) is (SharePart.END_OF_LIFE in shows)
