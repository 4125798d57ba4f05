"""What every chemistry must have before anything can be said of a battery of it."""

import json
from pathlib import Path

import pytest

import app.data
from app.analysis.projection.life_belief import prior_of
from app.domain.chemistry import Chemistry

FILE = Path(app.data.__path__[0]) / "coefficients.json"


@pytest.mark.parametrize("chemistry", Chemistry)
def test_a_chemistry_has_its_voltages_and_a_label(chemistry):
    assert chemistry.label
    assert 0 < chemistry.empty_cell_v < chemistry.nominal_cell_v
    assert chemistry.empty_v(6 * chemistry.nominal_cell_v) == 6 * chemistry.empty_cell_v


@pytest.mark.parametrize("chemistry", Chemistry)
def test_a_chemistry_says_by_how_much_it_is_corrected_or_that_it_is_not(chemistry):
    held = json.loads(FILE.read_text())
    for kind in ("temperature", "rate"):
        assert chemistry.value in held[kind]


@pytest.mark.parametrize("chemistry", Chemistry)
def test_of_a_chemistry_s_life_something_is_believed(chemistry):
    prior = prior_of(chemistry)
    assert all(1 < years < 30 for years, _ in (prior.slowing, prior.other))
