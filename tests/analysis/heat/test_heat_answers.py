"""The figures of the heat are those of its report, in Ah, each with its interval."""

from datetime import timedelta

import pytest

from app.analysis.ageing.temperature_history import PlaceTemperatures, temperature_history
from app.analysis.heat.heat_answers import HeatStep, heat_answers, heat_step
from app.analysis.heat.heat_report import heat_report
from app.domain.chemistry import Chemistry
from app.domain.entities.place import PlaceDetails, Season
from tests.records import TODAY, battery, record, report_of

FADING = (100.0, 98.0, 96.0, 94.0)


def report_at(celsius, capacities=FADING, days=1200, **changes):
    """A battery of 100 Ah, so that a per cent is an amp-hour, at one place for so many days."""
    of = battery(**changes)
    tests = record(of, capacities, every=365)
    begun = TODAY - timedelta(days=1200)
    seasons = () if celsius is None else (Season(1, 12, celsius, celsius),)
    stays = [
        (TODAY - timedelta(days=days), PlaceTemperatures(PlaceDetails("shed", "", seasons), ()))
    ]
    history = temperature_history(stays if seasons else [], begun, TODAY)
    return heat_report(report_of(of, tests), of.details, history)


def test_the_figures_are_those_of_the_report_with_their_intervals():
    report = report_at(35.0)
    heat, lost, expected, pace = heat_answers(report, 100.0)
    low, middle, high = report.due_to_heat
    assert heat.label == "Due to the heat, by the models"
    assert heat.figure == f"{middle:.1f} Ah"
    assert heat.doubt == f"9 in 10: {low:.1f} to {high:.1f}"
    assert lost.figure == f"{report.period.lost_percent:.1f} Ah"
    assert lost.doubt == f"± {report.period.half_width:.1f} Ah, very likely"
    loss = report.judged.expected
    assert expected.figure == f"{loss.middle:.1f} Ah"
    assert expected.doubt == f"9 in 10: {loss.low:.1f} to {loss.high:.1f}"
    assert pace.figure == f"{report.factor.low:.1f}–{report.factor.high:.1f}×"
    # Twice the size, twice the amp-hours.
    assert heat_answers(report, 200.0)[2].figure == f"{2 * loss.middle:.1f} Ah"


def test_a_loss_that_the_line_does_not_prove_is_not_called_measured():
    assert heat_answers(report_at(35.0), 100.0)[1].label == "Measured loss"
    open_loss = heat_answers(report_at(35.0, (101.0, 94.0, 100.0, 98.0)), 100.0)[1]
    assert open_loss.label == "Loss by the line, not proven"


def test_what_the_cool_spares_is_said_as_such_and_is_no_loss():
    report = report_at(15.0)
    spared = heat_answers(report, 100.0)[0]
    assert spared.label == "Spared by the cool, by the models"
    assert spared.figure == f"{-report.due_to_heat[1]:.1f} Ah"
    assert "−" not in spared.doubt
    assert "-" not in spared.doubt


def test_a_loss_beyond_all_that_is_expected_asks_for_action():
    assert heat_answers(report_at(25.0, (100.0, 80.0, 60.0, 40.0)), 100.0)[2].now
    assert not heat_answers(report_at(25.0), 100.0)[2].now


@pytest.mark.parametrize(
    ("made", "step", "figures"),
    [
        ({"celsius": 25.0}, HeatStep.COMPARE, 4),
        ({"celsius": 25.0, "capacities": (100.0,)}, HeatStep.TEST, 1),
        ({"celsius": 25.0, "days": 50}, HeatStep.TEMPERATURES, 2),
        ({"celsius": None}, HeatStep.PLACE, 1),
        ({"celsius": None, "capacities": ()}, HeatStep.TEST, 0),
        ({"celsius": 25.0, "chemistry": Chemistry.AGM}, HeatStep.COMPARE, 2),
    ],
)
def test_what_is_missing_is_the_next_step(made, step, figures):
    report = report_at(**made)
    lfp = made.get("chemistry", Chemistry.LFP) is Chemistry.LFP
    assert heat_step(report, lfp=lfp) is step
    assert len(heat_answers(report, 100.0)) == figures
    assert (report.judged is None) == bool(report.why_not)
