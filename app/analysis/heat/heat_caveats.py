"""What must be said beside the question whether the heat is to blame."""

from app.analysis.ageing.temperature_history import TemperatureHistory
from app.analysis.heat.heat_share import HeatShare
from app.domain.entities.battery import BatteryDetails
from app.domain.finding import Finding
from app.domain.i18n.message import say

# Less than this is said beside the result.
KNOWN_WELL = 0.95


def heat_caveats(
    about: BatteryDetails,
    history: TemperatureHistory,
    from_tests: bool,
    judged: HeatShare | None,
) -> tuple[Finding, ...]:
    """From the temperatures of the tests alone, from a part of the time, or without age or use."""
    found = list(judged.expected.caveats) if judged else []
    if from_tests:
        text = say(
            "Only the temperatures of the tests are known; that all other days were like them is a "
            "guess. Say where the battery lives to do better."
        )
        found.append(Finding("tests_only", text))
    elif history.exposure.total_h and history.known_share < KNOWN_WELL:
        text = say(
            "{percent:.0f} % of its time is known; the expected loss takes the rest to be like it.",
            percent=history.known_share * 100,
        )
        found.append(Finding("gaps", text))
    if about.in_service_since is None and judged:
        text = say(
            "It is not known since when you use it, so it counts as new at its first test. For an "
            "older battery the expected loss is too large then."
        )
        found.append(Finding("age_unknown", text))
    if about.throughput_ah_a_year is None and judged:
        text = say(
            "What you draw in a year is not known, so use explains nothing here. What you draw on "
            "a travel day does not tell it."
        )
        found.append(Finding("no_use", text))
    return tuple(found)
