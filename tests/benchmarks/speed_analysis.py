"""Fade and projection: beside general least squares, and by the number of tests."""

import importlib.util
from collections.abc import Callable, Iterator
from datetime import date

import numpy as np

from app.analysis.evidence.result import analyse_test
from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import project_end
from app.domain.finding import EvidenceKind
from app.domain.threshold import Threshold, ThresholdKind
from tests.benchmarks.speed_row import Row, compared, growing, in_turns, ms
from tests.builders import battery_details, discharge_details, steady

TESTS, FIRST_DAY, TODAY = 20, 738_000.0, date(2032, 1, 1)
SIZES = (10, 100, 1_000, 10_000)
SHARE = Threshold(ThresholdKind.FIRST_TEST, "80 % of the first test", share=0.8)


def points(count: int) -> tuple[TrendPoint, ...]:
    """Tests over ten years by two meters, 2 Ah a year lost of 100."""
    draw = np.random.default_rng(count)
    days = FIRST_DAY + np.arange(count) * (3650 / count)
    made = 100 - 2 * (days - FIRST_DAY) / 365.25 + draw.normal(0, 0.7, count)
    return tuple(
        TrendPoint(
            float(day), float(ah), 0.9, 0.6, EvidenceKind.MEASURED, number, number % 2 + 1, False
        )
        for number, (day, ah) in enumerate(zip(days, made, strict=True))
    )


def analysis_rows() -> Iterator[Row]:
    given = points(TESTS)
    for name, fit in general_fits(given).items():
        ours, its = in_turns(lambda: fit_fade(given, 100.0), fit, rounds=101)
        yield compared(f"fade of {TESTS} tests, with scatter, gains and power", ours, name, its)
    for count in (1, 20, 400):
        tests = points(count)
        fade = fit_fade(tests, 100.0)
        cost = in_turns(lambda t=tests, f=fade: project_end(t, f, SHARE, TODAY), rounds=15)[0]
        yield Row(f"end of life projected from {count} tests", ms(cost))
    costs = [in_turns(lambda n=n: fit_fade(points(n), 100.0), rounds=5)[0] for n in SIZES]
    yield growing("fade, by tests", SIZES, costs, "1 or below")
    yield Row("result of a test of 12 readings", ms(one_result()))


def general_fits(given: tuple[TrendPoint, ...]) -> dict[str, Callable[[], object]]:
    """A weighted line with its covariance, which is a small part of what the fade is."""
    years = np.array([one.day - FIRST_DAY for one in given]) / 365.25
    ah = np.array([one.capacity_ah for one in given])
    weight = np.array([one.independent_ah**-2 for one in given])
    design = np.column_stack([np.ones_like(years), years])

    def closed() -> object:
        covariance = np.linalg.inv(design.T @ (weight[:, None] * design))
        return covariance @ (design.T @ (weight * ah)), covariance

    found: dict[str, Callable[[], object]] = {"closed form in numpy": closed}
    if importlib.util.find_spec("statsmodels") is not None:
        from statsmodels.regression.linear_model import WLS

        found["statsmodels WLS"] = lambda: WLS(ah, design, weights=weight).fit().conf_int()
    return found


def one_result() -> float:
    details, about = discharge_details(steady(hours=11)), battery_details()
    return in_turns(lambda: analyse_test(details, about, None), rounds=51)[0]
