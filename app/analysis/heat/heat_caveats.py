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
            "Only the temperatures during the tests are known; that it was like that on "
            "all the other days is a guess. Say where the battery lives to do better."
        )
        found.append(Finding("tests_only", text))
    elif history.exposure.total_h and history.known_share < KNOWN_WELL:
        text = say(
            "{percent:.0f} % of its time is known; the rest is taken to be like it where a loss "
            "is expected.",
            percent=history.known_share * 100,
        )
        found.append(Finding("gaps", text))
    if about.in_service_since is None:
        text = say(
            "It is not known since when it is in service: it is taken to be new at its "
            "first test, which makes the expected loss too large for a battery that was "
            "older."
        )
        found.append(Finding("age_unknown", text))
    if about.throughput_ah_a_year is None and judged:
        text = say(
            "What is drawn from it in a year is not given, so that use explains nothing here."
        )
        found.append(Finding("no_use", text))
    return tuple(found)
