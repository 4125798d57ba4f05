import math
from array import array
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.analysis.ageing.exposure import ageing_factor
from app.analysis.ageing.log_overlap import overlap_of
from app.analysis.ageing.temperature_history import PlaceTemperatures, temperature_history
from app.domain.entities.place import HoursAt, PlaceDetails, Season
from app.domain.temperature_log import HourlyTemperatures

START, YEAR = date(2023, 1, 1), timedelta(days=365)


def steady(celsius, days=365, first=START):
    return HourlyTemperatures(first, array("d", [celsius] * (24 * days)))


def place(*logs, seasons=(), hours=(), name="locker"):
    return PlaceTemperatures(PlaceDetails(name, "", tuple(seasons), tuple(hours)), logs)


def lived(*stays, end=START + YEAR):
    return temperature_history(stays, START, end)


def test_a_constant_25_degrees_age_once():
    history = lived((START, place(steady(25.0))))
    factor = ageing_factor(history.exposure)
    assert (factor.low, factor.middle, factor.high) == pytest.approx((1, 1, 1))
    assert history.known_share == 1
    assert history.hours_by_degree() == ((25.0, 8760.0),)


def test_what_lies_before_the_first_stay_is_not_known():
    history = lived((START + timedelta(days=73), place(steady(20.0))))
    assert history.known_share == pytest.approx(0.8)


def test_a_stay_lasts_until_the_next():
    moved = START + timedelta(days=100)
    history = lived(
        (START, place(steady(20.0), name="cool")), (moved, place(steady(40.0), name="hot"))
    )
    assert [(s.place, s.from_day, s.to_day) for s in history.stretches] == [
        ("cool", START, moved),
        ("hot", moved, START + YEAR),
    ]
    assert history.exposure.mean_c == pytest.approx((100 * 20 + 265 * 40) / 365)
    assert history.between(START, moved).mean_c == 20


def test_the_log_tells_before_the_typical_year():
    half = steady(30.0, days=100)
    history = lived((START, place(half, seasons=[Season(1, 12, 10.0, 20.0)])))
    assert history.known_share == 1
    assert history.logged_share == pytest.approx(100 / 365)
    assert history.exposure.mean_c == pytest.approx((100 * 30 + 265 * 15) / 365)


def test_of_two_logs_the_first_tells():
    history = lived((START, place(steady(10.0, days=10), steady(20.0))))
    assert history.between(START, START + timedelta(days=10)).mean_c == 10
    assert history.between(START + timedelta(days=10), START + YEAR).mean_c == 20


def test_a_season_s_day_goes_from_its_coolest_to_its_warmest():
    history = lived((START, place(seasons=[Season(12, 2, -4.0, 10.0)])))
    january = history.months[0]
    assert (january.low_c, january.mean_c, january.high_c) == pytest.approx((-4, 3, 10))
    assert history.stretches[0].celsius[15] == pytest.approx(10)
    # March to November is not told.
    assert history.months[3].mean_c is None
    assert history.known_share == pytest.approx((31 + 28 + 31) / 365)


def test_a_typical_year_by_hours_stands_in_for_all_that_no_log_knows():
    hours = [HoursAt(10.0, 6000.0), HoursAt(40.0, 2000.0)]
    history = lived((START, place(steady(25.0, days=73), hours=hours)))
    assert history.known_share == pytest.approx(1)
    assert history.exposure.mean_c == pytest.approx(0.2 * 25 + 0.8 * 17.5)


def test_a_gap_in_a_log_is_not_known():
    celsius = array("d", [20.0] * 2400 + [math.nan] * 2400 + [20.0] * 3960)
    history = lived((START, place(HourlyTemperatures(START, celsius))))
    assert history.known_share == pytest.approx(1 - 2400 / 8760)


def test_a_place_without_temperatures_is_not_known():
    history = lived((START, place()))
    assert history.known_share == 0
    assert history.hours_by_degree() == ()
    assert math.isnan(ageing_factor(history.exposure).middle)


@given(st.lists(st.floats(-20, 60), min_size=48, max_size=48), st.randoms())
def test_the_order_of_the_hours_does_not_matter(celsius, chance):
    shuffled = celsius[:]
    chance.shuffle(shuffled)
    end = START + timedelta(days=2)
    factors = [
        ageing_factor(
            lived((START, place(HourlyTemperatures(START, array("d", hours)))), end=end).exposure
        )
        for hours in (celsius, shuffled)
    ]
    assert factors[0].middle == pytest.approx(factors[1].middle)


@given(st.lists(st.floats(-20, 60), min_size=24, max_size=24), st.integers(0, 23))
def test_a_hotter_hour_never_rejuvenates(celsius, which):
    hotter = celsius[:]
    hotter[which] += 5
    end = START + timedelta(days=1)
    cool, warm = (
        ageing_factor(
            lived((START, place(HourlyTemperatures(START, array("d", hours)))), end=end).exposure
        )
        for hours in (celsius, hotter)
    )
    assert warm.low >= cool.low
    assert warm.middle > cool.middle
    assert warm.high > cool.high


def test_hours_that_two_logs_know_are_counted():
    one, other = steady(20.0, days=10), steady(22.5, days=10, first=START + timedelta(days=6))
    found = overlap_of(one, other)
    assert (found.hours, found.differing, found.most_k) == (96, 96, 2.5)
    assert overlap_of(one, steady(20.0, first=START + timedelta(days=10))) is None


def test_the_months_know_how_much_of_them_a_log_tells():
    log = HourlyTemperatures(START, array("d", np.linspace(0, 10, 24 * 15)))
    history = lived((START, place(log, seasons=[Season(1, 1, 5, 5)])))
    january = history.months[0]
    assert january.known_share == 1
    assert january.logged_share == pytest.approx(15 / 31)
