import numpy as np
import pytest

from app.analysis.projection.capacity_fan import _quantiles


def test_half_of_what_lies_evenly_lies_below_its_middle():
    """Ten cells of 0.2 % from 1.5 % of the start on, as full as one another: 2 % in all."""
    found = _quantiles(np.ones((1, 10)), 0.0, (0.5, 1.0))
    assert np.log(found[:, 0] / 0.015) == pytest.approx([0.010, 0.020])
