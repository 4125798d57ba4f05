import numpy as np
import pytest

from app.analysis.projection.end_distribution import LifeSpread


def test_an_end_a_tenth_earlier_is_one_standard_deviation_off():
    """Without sudden knees: exp(-1/2) as likely as the foreseen one, and exp(-2) at two."""
    chances = LifeSpread(sudden=0.0).density(np.array([-0.2, -0.1, 0.0]), 0.5)
    assert chances / chances[-1] == pytest.approx([0.135335, 0.606531, 1.0], rel=1e-5)
