"""Figures of the fade and the projection as they were before either was made quicker."""

import math

import numpy as np
import pytest

from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import run_projection
from app.analysis.statistics.middle_values import middle_values
from app.domain.chemistry import Chemistry
from app.domain.finding import EvidenceKind
from app.domain.threshold import Threshold, ThresholdKind
from tests.builders import NOW

SHARE = Threshold(ThresholdKind.FIRST_TEST, "80 % of the first test", share=0.8)
# Twenty tests over ten years by two meters, scattered by a sine.
POINTS = tuple(
    TrendPoint(
        738_000.0 + 190.0 * n,
        100 - n + 1.1 * math.sin(7.0 * n),
        0.9,
        0.6,
        EvidenceKind.MEASURED,
        n,
        n % 2 + 1,
    )
    for n in range(20)
)
FADE = (
    1.9651622725614564,
    1.8389552800803857,
    2.0913692650425273,
    0.542622018659696,
    0.17925632785481493,
    0.14652140707551384,
    0.12823464047598102,
)
ENDS = (
    741560.5051719858,
    741594.2685604941,
    741762.0760198655,
    741859.5764709996,
    742075.7660532211,
)
MIDDLES = (100.63600866955727, 94.43075601357206, 88.84027854442591, 83.37607322396053)


def test_the_fade_is_what_it_was():
    fade = fit_fade(POINTS, 100.0)
    found = [fade.rate_percent_per_year, fade.low, fade.high, fade.scatter_ah]
    found += [one.percent_per_year for one in fade.detectable]
    assert found == pytest.approx(FADE, rel=1e-12)


def test_the_end_of_life_is_what_it_was():
    found = run_projection(POINTS, SHARE, Chemistry.LFP, NOW.date())
    # Numpy takes the instructions that the processor has, and each set rounds otherwise: with and
    # without AVX-512, and with none newer than SSE4.2, the ends differ by two seconds
    # and the fan by 3e-7 Ah (NPY_DISABLE_CPU_FEATURES). So they are held to a minute and 1e-6 Ah.
    assert [day for _, day in found.quantiles] == pytest.approx(ENDS, abs=1 / 1440)
    assert found.fan.capacities[2, ::8] == pytest.approx(MIDDLES, abs=1e-6)


@pytest.mark.parametrize("count", [1, 2, 3, 20, 36])
def test_a_network_of_comparisons_finds_numpy_s_median(count):
    rows = np.random.default_rng(count).normal(size=(count, 50)).round(1).astype(np.float32)
    np.testing.assert_array_equal(middle_values(rows), np.median(rows, axis=0))
