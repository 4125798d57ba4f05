"""What the heat explains, where the published model does not reach."""

from datetime import timedelta

import pytest

from app.analysis.heat_report import heat_report
from app.analysis.heat_share import Blame
from app.analysis.temperature_history import PlaceTemperatures, temperature_history
from app.domain.place import PlaceDetails, Season
from tests.records import TODAY, battery, record, report_of

# Three years of calendar loss at 15 °C, the model's edge, three quarters charged: 0.0012571 ×
# (2.8575 × 0.25³ + 0.60225) × exp(-17126 / 8.3145 × (1/288.15 - 1/298.15)) × sqrt(94.67e6 s), which
# is 0.0012571 × 0.6469 × 0.7868 × 9730 = 6.2 %. At -30 °C it is exp(-2059.8 × 0.0006423) = 0.266
# of that, 1.7 %; cells of the same kind differ by a factor of two.
YEARS = 3


def judged(celsius, capacities):
    of = battery()
    begun = TODAY - timedelta(days=10 + 365 * YEARS)
    place = PlaceTemperatures(PlaceDetails("shed", "", (Season(1, 12, celsius, celsius),), ()))
    report = report_of(of, record(of, capacities, every=365))
    return heat_report(
        report, of.details, temperature_history([(begun, place)], begun, TODAY)
    ).judged


@pytest.mark.parametrize(
    ("celsius", "capacities", "blame"),
    [
        # 6 Ah of 100 are more than 1.7 %, but the model knows nothing of -30 °C, and at its edge it
        # would expect as much.
        (-30.0, (100.0, 98.0, 96.0, 94.0), Blame.UNSURE),
        (15.0, (100.0, 98.0, 96.0, 94.0), Blame.FITS),
        # 24 Ah are more than either.
        (-30.0, (100.0, 92.0, 84.0, 76.0), Blame.MORE),
    ],
)
def test_cold_the_model_was_not_made_for_does_not_blame_another_cause(celsius, capacities, blame):
    found = judged(celsius, capacities)
    assert found.blame is blame
    assert found.expected.calendar == pytest.approx(1.66 if celsius < 0 else 6.23, rel=0.02)
