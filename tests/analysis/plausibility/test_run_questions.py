"""A reading of a running test that can hardly be is asked about at itself, once."""

from datetime import timedelta

import pytest

from app.analysis.counting.run_columns import RunColumns
from app.analysis.plausibility.questions import DoubtKind
from app.analysis.plausibility.run_questions import questions_about
from app.domain.entities.run import ReadingGiven, RunReading
from tests.builders import NOW, battery_details

# 100 Ah of LFP in four cells: up to 2 × 100 A, and 4 × 1.9 to 4 × 3.8 V, is believed.
BATTERY = battery_details()


def noted(amps, volts=None, meant=(), struck=()):
    volts = volts or [13.1] * len(amps)
    return [
        RunReading(
            number,
            1,
            ReadingGiven(NOW + timedelta(hours=number), a, v),
            "page",
            "misread" if number in struck else "",
            1,
            number in meant,
        )
        for number, (a, v) in enumerate(zip(amps, volts, strict=True), start=1)
    ]


def asked(*given, **more):
    return [
        (one.reading_id, one.doubt.kind, [way.value for way in one.doubt.alternatives])
        for one in questions_about(RunColumns.of(noted(*given, **more)), BATTERY)
    ]


@pytest.mark.parametrize("amps", [[], [9], [9, 9], [9, 9.2, 0], [9, 9, 4], [-9, -9, -9]])
def test_an_ordinary_run_is_not_asked_about(amps):
    assert asked(amps) == []


@pytest.mark.parametrize(
    ("amps", "number", "values"),
    [
        ([9, 90], 2, [9, 90]),
        ([9, 9, 90], 3, [9, 90]),
        ([9, 90, 9], 2, [9, 90]),
        ([90, 9, 9], 1, [9, 90]),
        ([9, 9, 0.9], 3, [9, 0.9]),
        ([-9, -90, -9], 2, [-9, -90]),
    ],
)
def test_ten_times_or_a_tenth_of_its_neighbours(amps, number, values):
    assert asked(amps) == [(number, DoubtKind.LONE, pytest.approx(values))]


@pytest.mark.parametrize("amps", [[9, 9, 90, 90], [9, 90, 9, 90, 9, 90, 9], [9, 9, 45]])
def test_a_load_that_steps_or_goes_to_and_fro_is_none(amps):
    assert asked(amps) == []


def test_a_current_beyond_the_usual_rate_names_what_it_could_be():
    # 2 × 100 A; 250 A could be 25.0 A, and 250 mA is below C/100.
    assert asked([250]) == [(1, DoubtKind.CURRENT, pytest.approx([25, 250]))]
    assert asked([9000]) == [(1, DoubtKind.CURRENT, pytest.approx([9, 9000]))]
    assert asked([199]) == []


@pytest.mark.parametrize(
    ("volts", "values"), [(131, [13.1, 131]), (1.31, [13.1, 1.31]), (40, [40])]
)
def test_a_voltage_outside_the_cells_range(volts, values):
    assert asked([9, 9], [13.1, volts]) == [(2, DoubtKind.VOLTAGE, pytest.approx(values))]


def test_a_voltage_after_the_load_went_off_is_none():
    assert asked([9, 9, 0], [13.1, 10.4, 0.3]) == []


def test_what_was_meant_is_not_asked_again_nor_what_is_about_the_same():
    assert asked([9, 90, 9], meant=[2]) == []
    assert asked([250, 260, 280], meant=[1]) == []
    # 250 A that were meant say nothing of ten times as much.
    assert [one[0] for one in asked([250, 2500], meant=[1])] == [2]
    assert asked([9, 9], [26.4, 25.9], meant=[1]) == []
    assert [one[0] for one in asked([9, 9, 9], [26.4, 25.9, 259], meant=[1])] == [3]


def test_a_struck_reading_is_neither_asked_about_nor_a_neighbour():
    assert asked([9, 90, 9], struck=[2]) == []
    assert [one[0] for one in asked([9, 5, 90, 9], struck=[2])] == [3]


def test_a_device_in_another_unit_is_told_by_its_newest_readings():
    found = [one[0] for one in asked([9000] * 500)]
    assert found == list(range(301, 501))
