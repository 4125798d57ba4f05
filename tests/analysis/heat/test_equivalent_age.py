import math
from datetime import date, timedelta

import pytest

from app.analysis.ageing.exposure import ageing_rules
from app.analysis.ageing.temperature_history import PlaceTemperatures, temperature_history
from app.analysis.heat.equivalent_age import equivalent_age
from app.domain.chemistry import Chemistry
from app.domain.entities.place import PlaceDetails, Season

START, END = date(2024, 1, 1), date(2026, 1, 1)
RULES = ageing_rules(Chemistry.LFP)


def years_in(*stays):
    """Stays of a first day and a temperature day and night."""
    places = [
        (first, PlaceTemperatures(PlaceDetails("x", seasons=(Season(1, 12, warm, warm),))))
        for first, warm in stays
    ]
    return equivalent_age(temperature_history(places, START, END), RULES)


def test_at_25_degrees_it_is_the_age_itself():
    assert years_in((START, 25.0))(START + timedelta(days=365)) == pytest.approx(1, rel=1e-3)


def test_ten_kelvin_more_age_it_by_the_published_figure():
    # exp(2·17126/8.314·(1/298.15 − 1/308.15)), Naumann and others 2018, worked by hand.
    factor = math.exp(2 * 17_126 / 8.314462618 * (1 / 298.15 - 1 / 308.15))
    years = years_in((START, 35.0))
    assert years(START + timedelta(days=365)) == pytest.approx(factor, rel=1e-3)
    assert years(START) == 0


def test_it_goes_on_from_place_to_place():
    years = years_in((START, 25.0), (date(2025, 1, 1), 45.0))
    first, both = years(date(2025, 1, 1)), years(END - timedelta(days=1))
    assert first == pytest.approx(1, rel=5e-3)
    assert both - first > 2


def test_before_half_of_the_time_is_known_there_is_none():
    years = years_in((date(2025, 1, 1), 25.0))
    assert years(date(2025, 6, 1)) is None
    # 366 days unknown, then 365 known: at the end still just less than half.
    assert years(END) is None
    assert years_in((date(2024, 12, 1), 25.0))(END) == pytest.approx(2, rel=5e-3)


def test_without_any_known_hour_or_figure_there_is_none_at_all():
    assert equivalent_age(temperature_history([], START, END), RULES) is None
    assert equivalent_age(temperature_history([], START, END), ()) is None
