"""What every chemistry must have before anything can be said of a battery of it."""

import importlib
import json
import pkgutil
from pathlib import Path

import pytest

import app.analysis
import app.data
import app.domain
from app.analysis.projection.life_belief import prior_of
from app.domain.chemistry import Chemistry

LACKS = "add {} to “{}” in coefficients.json: with its source, or null to correct nothing"
FILE = Path(app.data.__path__[0]) / "coefficients.json"


def tables():
    """Each table by chemistry of what is computed, by the name it has in its module."""
    for package in (app.domain, app.analysis):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            for name, held in vars(importlib.import_module(found.name)).items():
                if isinstance(held, dict) and any(isinstance(key, Chemistry) for key in held):
                    yield f"{found.name}.{name}", held


def test_each_table_by_chemistry_says_something_of_every_one():
    found = dict(tables())
    # Nominal and empty voltage, label, current, voltages, ageing, life, charging, usual rating.
    assert len(found) >= 9
    lacking = [
        f"{name}: {one.name}"
        for name, held in found.items()
        for one in Chemistry
        if one not in held
    ]
    assert not lacking, "\n".join(
        ("add to each table, with a source or “common practice”:", *lacking)
    )


@pytest.mark.parametrize("chemistry", Chemistry)
def test_a_chemistry_has_its_voltages_and_a_label(chemistry):
    assert chemistry.label
    assert 0 < chemistry.empty_cell_v < chemistry.nominal_cell_v
    assert chemistry.empty_v(6 * chemistry.nominal_cell_v) == 6 * chemistry.empty_cell_v


@pytest.mark.parametrize("chemistry", Chemistry)
def test_a_chemistry_says_by_how_much_it_is_corrected_or_that_it_is_not(chemistry):
    held = json.loads(FILE.read_text())
    for kind in ("temperature", "rate"):
        assert chemistry.value in held[kind], LACKS.format(chemistry, kind)


@pytest.mark.parametrize("chemistry", Chemistry)
def test_of_a_chemistry_s_life_something_is_believed(chemistry):
    prior = prior_of(chemistry)
    assert all(1 < years < 30 for years, _ in (prior.slowing, prior.other))
