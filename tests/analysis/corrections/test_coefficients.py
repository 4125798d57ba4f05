import pytest

from app.analysis.corrections.coefficients import rate_exponent, temperature_coefficient
from app.analysis.corrections.reference_conditions import correct_rate, correct_temperature
from app.domain.chemistry import Chemistry

LFP = temperature_coefficient(Chemistry.LFP)
FLOODED = temperature_coefficient(Chemistry.FLOODED)


@pytest.mark.parametrize(
    ("coefficient", "celsius", "covered"),
    [
        # The published discharges of lithium iron phosphate reach from -30 to 45 °C, the table for
        # lead-acid from 0 to 40 °C. Nothing is known a tenth beyond.
        (LFP, -30.0, True),
        (LFP, -30.1, False),
        (LFP, 45.0, True),
        (LFP, 45.1, False),
        (FLOODED, 0.0, True),
        (FLOODED, -0.1, False),
        (FLOODED, 40.0, True),
        (FLOODED, 40.1, False),
    ],
)
def test_a_temperature_is_corrected_up_to_the_last_one_of_the_source(coefficient, celsius, covered):
    test, label = (
        correct_temperature(coefficient, celsius, 25.0),
        correct_temperature(coefficient, 25.0, celsius),
    )
    assert (test.applied, label.applied) == (covered, covered)
    assert (test.out_of_range, label.out_of_range) == (not covered, not covered)


@pytest.mark.parametrize(
    ("current_a", "covered"), [(3.34, True), (3.32, False), (200.0, True), (200.1, False)]
)
def test_a_rate_is_corrected_up_to_the_last_one_of_the_source(current_a, covered):
    # From a thirtieth of the capacity per hour to twice of it: 3.33 to 200 A of 100 Ah, against a
    # label of two hours, 50 A.
    found = correct_rate(rate_exponent(Chemistry.LFP), current_a, 100.0, 2.0)
    assert (found.applied, found.out_of_range) == (covered, not covered)
