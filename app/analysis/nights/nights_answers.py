"""The figures that the page of the nights begins with, each with its doubt."""

from app.analysis.battery.answers import Answer
from app.analysis.battery.capacity_forecast import Basis
from app.analysis.nights.nights import NARROW, Nights
from app.analysis.nights.nights_end import LEVELS, NightsEnd
from app.analysis.nights.nights_report import RoadReport
from app.analysis.nights.scenarios import Scenario
from app.analysis.projection.end_of_life import coarse_date
from app.domain.i18n.message import say, say_plural, written_day
from app.domain.units.rounding import rounded_down

# Beside the day until which they work.
_MOST_SITUATIONS = 3


def nights_answers(report: RoadReport) -> tuple[Answer, ...]:
    """At most four: nights now, in other situations, and until when those asked for work."""
    if report.use_ah is None:
        return (Answer(say("Nights"), say("not known"), say("say what a day draws")),)
    made = [_situation(one, nights, report) for one, nights in _first(report)]
    return (*made, *(_end(one) for one in report.ends[:1]))


def _first(report: RoadReport) -> list[tuple[Scenario, Nights]]:
    """Now without charging, then the day asked for, the cold week and the charging."""
    known = [(one, one.nights) for one in report.situations if one.nights is not None]
    now = [pair for pair in known if pair[1].on_date == report.as_of]
    later = [pair for pair in known if pair[1].on_date != report.as_of]
    order = [
        *now[:1],
        *later[:1],
        *(pair for pair in now[1:] if pair[0].cold and not pair[0].charged),
        *(pair for pair in now[1:] if pair[0].charged and not pair[0].cold),
    ]
    return order[:_MOST_SITUATIONS]


def _situation(one: Scenario, nights: Nights, report: RoadReport) -> Answer:
    label = _label(one, nights, report)
    return Answer(label, _figure(nights), _doubt(nights), _note(one, nights))


def _label(one: Scenario, nights: Nights, report: RoadReport) -> str:
    if nights.on_date is not None and nights.on_date != report.as_of:
        return say("On {day}", day=written_day(nights.on_date))
    if one.cold:
        return say("In a cold week")
    if one.charged:
        return say("{ah:g} Ah charged a day", ah=report.charge_ah)
    return say("Without charging")


def _figure(nights: Nights) -> str:
    if nights.endless:
        return say("no end")
    low, middle = nights.nights.low, nights.nights.middle
    if middle is not None:
        return say("{nights:.1f} nights", nights=middle)
    if low is not None:
        return say("at least {nights:.1f} nights", nights=rounded_down(low))
    return say("not known")


def _doubt(nights: Nights) -> str:
    if nights.endless:
        return say("as long as the charging lasts")
    low, middle, high = nights.nights.low, nights.nights.middle, nights.nights.high
    if low is not None and high is not None:
        if high - low >= NARROW:
            return say("9 in 10: {low:.1f} to {high:.1f}", low=low, high=high)
        return say("9 in 10: {low:.2f} to {high:.2f}", low=low, high=high)
    if middle is not None:
        return say("by the label alone")
    return say("very likely, on the day of the test")


def _note(one: Scenario, nights: Nights) -> str:
    """The whole nights to count on, by measured tests, where nothing is charged or cold."""
    plain = not (one.cold or one.charged or nights.endless)
    if not plain or nights.sure is None or nights.basis is not Basis.TESTS:
        return ""
    if nights.sure == 0:
        return say("count on no whole night")
    return say_plural("count on 1 whole night", "count on {count} whole nights", nights.sure)


def _end(end: NightsEnd) -> Answer:
    label = say_plural("1 night works until", "{count:g} nights work until", end.nights)
    if end.chance_today < LEVELS[1]:
        below = min(99.0, 100 * (1 - end.chance_today))
        doubt = say("{percent:.0f} % likely too little today", percent=below)
        return Answer(label, say("probably no longer"), doubt, now=True)
    last_year = end.last_day.year
    if end.p05 is None and end.chance_today >= LEVELS[0]:
        figure = say("beyond {last_year}", last_year=last_year)
        return Answer(label, figure, say("very likely; what comes later is not known"))
    if end.p50 is None and end.p05 is None:
        doubt = say("1 in 2; {percent:.0f} % likely to work today", percent=100 * end.chance_today)
        return Answer(label, say("beyond {last_year}", last_year=last_year), doubt)
    start = say("now") if end.p05 is None else coarse_date(end.p05)
    if end.p50 is None:
        figure = say("not before {start}", start=start)
        return Answer(label, figure, say("very likely; how much later is not known"))
    if end.p95 is None:
        doubt = say("9 in 10: from {start} on; latest not known", start=start)
    else:
        doubt = say("9 in 10: {start} to {end}", start=start, end=coarse_date(end.p95))
    return Answer(label, coarse_date(end.p50), doubt)
