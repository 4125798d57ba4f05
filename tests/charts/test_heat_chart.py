"""The month of a move is that of both places."""

from datetime import date

from app.analysis.ageing.temperature_history import PlaceTemperatures, temperature_history
from app.charts.heat_chart import temperature_calendar_chart, temperature_calendar_figure
from app.domain.entities.place import PlaceDetails, Season


def place(celsius):
    return PlaceTemperatures(PlaceDetails("shed", "", (Season(1, 12, celsius, celsius),)), ())


def test_a_month_at_two_places_has_the_mean_of_all_its_hours():
    """By hand: 24 days at 20 and 7 at 31 degrees are (480 + 217) / 31 = 22.48."""
    stays = [(date(2024, 11, 1), place(20.0)), (date(2024, 12, 25), place(31.0))]
    months = temperature_history(stays, date(2024, 11, 1), date(2025, 1, 1)).months
    cells = temperature_calendar_figure(months)["data"][0]
    assert cells["z"][0][10:] == [20.0, 22.5]
    said = str(temperature_calendar_chart("Bench", months).summary)
    assert "to 22.5 °C in December 2024, 2 months known" in said
