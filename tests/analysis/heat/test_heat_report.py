"""What the heat explains, where the published models do not reach."""

from datetime import timedelta

import numpy as np
import pytest

from app.analysis.ageing.temperature_history import PlaceTemperatures, temperature_history
from app.analysis.heat.heat_report import heat_report
from app.analysis.heat.heat_share import Attribution
from app.domain.entities.place import PlaceDetails, Season
from tests.records import TODAY, battery, record, report_of

# Three years at 25 °C take 4.625 % half charged and 7.137 % full, the geometric means of the five
# models (test_ageing_models; full: 12.19, 8.05, 2.97, 8.86 and 7.15 %); between them the logarithm
# goes evenly. After just those years the exponent of time cancels out, so that a temperature only
# multiplies by each model's exp(E/R (1/298.15 - 1/T)), with E = 17.126, 34.5, 46.5, 37.9 and 44.1
# kJ/mol (sources in loss_models) and R = 8.3145 J/(mol K).
BY_CHARGE = 4.625 * (7.137 / 4.625) ** np.array([0.0, 0.25, 0.5, 0.75, 1.0])
BY_MODEL = {
    15.0: np.array([0.7868, 0.6170, 0.5216, 0.5883, 0.5394]),
    -30.0: np.array([0.2096, 0.0429, 0.0144, 0.0315, 0.0179]),
}
YEARS = 3


def report_at(celsius, capacities):
    of = battery()
    begun = TODAY - timedelta(days=10 + 365 * YEARS)
    place = PlaceTemperatures(PlaceDetails("shed", "", (Season(1, 12, celsius, celsius),), ()))
    report = report_of(of, record(of, capacities, every=365))
    return heat_report(report, of.details, temperature_history([(begun, place)], begun, TODAY))


def judged(celsius, capacities):
    return report_at(celsius, capacities).judged


@pytest.mark.parametrize(
    ("celsius", "capacities", "blame", "words"),
    [
        # 6 Ah of 100 are more than the 0.2 % at -30 °C, of which the models know nothing; but at
        # 15 °C, where they end, one type in six would lose as much (ln(6/3.4) is 0.9 of SD 0.6).
        (-30.0, (100.0, 98.0, 96.0, 94.0), Attribution.FITS, "never colder than 15 °C"),
        (
            15.0,
            (100.0, 98.0, 96.0, 94.0),
            Attribution.FITS,
            "Time, heat and use explain the loss",
        ),
        # 24 Ah are more than either: ln(24/3.4) is 3.3 of them.
        (-30.0, (100.0, 92.0, 84.0, 76.0), Attribution.MORE, "Look for another cause"),
    ],
)
def test_cold_the_models_were_not_made_for_only_bounds_the_answer(
    celsius, capacities, blame, words
):
    found = judged(celsius, capacities)
    assert found.blame is blame
    assert words in found.words
    middle = np.median(np.outer(BY_CHARGE, BY_MODEL[celsius]))
    assert found.expected.calendar == pytest.approx(middle, rel=0.005)


def test_how_fast_it_ages_is_a_range_where_the_figures_differ_and_one_figure_where_they_do_not():
    # Three years at 25 °C are three years at 25 °C, whosever activation energy is taken.
    of_25 = report_at(25.0, (100.0, 98.0, 96.0, 94.0)).words
    assert "3.0 years here are about 3.0 years" in of_25
    of_35 = report_at(35.0, (100.0, 98.0, 96.0, 94.0)).words
    assert "about" not in of_35
    assert "years here are" in of_35
    assert " to " in of_35.partition("years here are")[2]
