"""The figures that the heat page begins with, and what it takes to know more."""

from enum import StrEnum

from app.analysis.ageing.exposure import REFERENCE_C
from app.analysis.battery.answers import Answer
from app.analysis.heat.heat_report import HeatReport
from app.analysis.heat.heat_share import Attribution
from app.domain.i18n.message import Celsius, say, written_celsius, written_day


class HeatStep(StrEnum):
    """What would tell more: a place, more temperatures, another test, or another battery."""

    PLACE = "place"
    TEMPERATURES = "temperatures"
    TEST = "test"
    COMPARE = "compare"


def heat_step(report: HeatReport, *, lfp: bool) -> HeatStep:
    """The next step; lfp says that the battery is of the chemistry that the models are of."""
    if report.judged is not None or not lfp:
        return HeatStep.COMPARE
    if report.period is None:
        return HeatStep.TEST
    return HeatStep.TEMPERATURES if report.stretches else HeatStep.PLACE


def heat_answers(report: HeatReport, rated_ah: float) -> tuple[Answer, ...]:
    """What the heat took, what was lost, what would be expected, and how fast it ages."""
    ah, made = rated_ah / 100, []
    judged, heat, period = report.judged, report.due_to_heat, report.period
    if heat is not None:
        # The cool spares as much as the warmth takes.
        sign = -1 if heat[1] < 0 else 1
        low, high = sorted((sign * heat[0] * ah, sign * heat[2] * ah))
        label = say("Due to the heat, by the models")
        if sign < 0:
            label = say("Spared by the cool, by the models")
        figure = say("{ah:.1f} Ah", ah=_no_minus_zero(sign * heat[1] * ah))
        note = say("compared with a life at {warm}", warm=written_celsius(REFERENCE_C, "g"))
        made.append(Answer(label, figure, _nine_in_ten(low, high), note))
    if period is not None:
        made.append(
            Answer(
                period.label,
                say("{ah:.1f} Ah", ah=_no_minus_zero(period.lost_percent * ah)),
                say("± {ah:.1f} Ah, very likely", ah=period.half_width * ah),
                say("since {day}", day=written_day(period.from_day)),
            )
        )
    if judged is not None:
        expected = judged.expected
        made.append(
            Answer(
                say("Expected loss"),
                say("{ah:.1f} Ah", ah=expected.middle * ah),
                _nine_in_ten(expected.low * ah, expected.high * ah),
                say("time, heat and use together"),
                now=judged.blame is Attribution.MORE,
            )
        )
    pace = _pace(report)
    return (*made, pace) if pace is not None else tuple(made)


def _pace(report: HeatReport) -> Answer | None:
    """How fast it ages against a life at 25 °C, by the weakest and the strongest published rule."""
    if report.mean_c is None:
        return None
    mean = say("{mean:.1f} on average", mean=Celsius(report.mean_c))
    if report.factor is None:
        return Answer(say("Ages"), say("not known"), say("no published figure"), mean)
    against = say("as fast as at {warm}", warm=written_celsius(REFERENCE_C, "g"))
    low, high = report.factor.low, report.factor.high
    if f"{low:.1f}" == f"{high:.1f}":
        figure = say("{low:.1f}×", low=low)
    else:
        figure = say("{low:.1f}–{high:.1f}×", low=low, high=high)
    return Answer(say("Ages"), figure, against, mean)


def _nine_in_ten(low_ah: float, high_ah: float) -> str:
    return say(
        "9 in 10: {low:.1f} to {high:.1f}",
        low=_no_minus_zero(low_ah),
        high=_no_minus_zero(high_ah),
    )


def _no_minus_zero(value: float) -> float:
    return 0.0 if abs(value) < 0.05 else value
