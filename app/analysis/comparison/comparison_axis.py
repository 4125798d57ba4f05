"""What trends are laid over one another on: age, throughput or equivalent age."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison_side import ComparedSide
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say
from app.domain.units.time_units import DAYS_PER_YEAR

# From a day (a proleptic ordinal with its fraction) to the place on the axis.
Place = Callable[[float], float | None]


@dataclass(frozen=True)
class Axis:
    """An axis with one mapping a battery, in their order; None where its place is not known.

    words says from what it counts and where the figures come from.
    """

    label: str
    unit: str
    words: str
    places: tuple[Place | None, ...]


@dataclass(frozen=True)
class LaidAxis:
    """An axis with the places of all points: x by side, in the order of its points.

    move_x is where the move lies, None without one.
    """

    label: str
    unit: str
    words: str
    x: tuple[tuple[float | None, ...], ...]
    move_x: float | None


def age_axis(reports: Sequence[BatteryReport]) -> Axis:
    """Years since each battery went into service, or since its first test where that is unknown."""
    unknown = [one.name for one in reports if one.in_service_since is None]
    words = say("Years since each went into service.")
    if len(unknown) == len(reports):
        words = say("Years since the first test of each: when they went into service is not known.")
    elif unknown:
        names = joined(", ", unknown)
        words += " " + say("Since the first test: {names}, whose start is not known.", names=names)
    return Axis(say("age"), say("years"), words, tuple(_age(one) for one in reports))


def throughput_axis(
    reports: Sequence[BatteryReport], throughput_ah_per_year: Sequence[float | None]
) -> Axis:
    """Ah drawn since the start, as multiples of the rated capacity, from the use a year."""

    def place(report: BatteryReport, drawn: float | None) -> Place | None:
        age = _age(report)
        if drawn is None:
            return None
        return lambda day: None if (years := age(day)) is None else years * drawn / report.rated_ah

    places = tuple(
        place(report, drawn) for report, drawn in zip(reports, throughput_ah_per_year, strict=True)
    )
    words = say(
        "Amp-hours drawn since the start, as multiples of each rated capacity, from the yearly use."
    )
    words += _missing(reports, places, N_("Not drawn, as no use is known: {names}."))
    return Axis(say("throughput"), say("rated capacities drawn"), words, places)


def equivalent_age_axis(
    reports: Sequence[BatteryReport],
    equivalent_years: Sequence[Callable[[date], float | None] | None],
) -> Axis:
    """Years at 25 °C that age as much as the time at each battery's own temperatures did."""

    def place(years: Callable[[date], float | None] | None) -> Place | None:
        return None if years is None else lambda day: years(date.fromordinal(int(day)))

    places = tuple(place(years) for years in equivalent_years)
    words = say(
        "The years at 25 °C that age a battery as much as its own temperatures did, by the "
        "middle published figure; unknown hours count like the rest. If the lines lie apart by "
        "age but together here, heat could explain it."
    )
    without = N_("Not drawn, as no temperature history is known: {names}.")
    words += _missing(reports, places, without)
    return Axis(say("equivalent age"), say("years at 25 °C"), words, places)


def lay(axis: Axis, sides: Sequence[ComparedSide], move_day: float | None = None) -> LaidAxis:
    """Place all points; one mapping serves both sides of a move."""
    places = axis.places if len(axis.places) == len(sides) else axis.places * len(sides)
    first = places[0] if places else None
    return LaidAxis(
        label=axis.label,
        unit=axis.unit,
        words=axis.words,
        x=tuple(
            tuple(None if place is None else place(point.day) for point in side.points)
            for side, place in zip(sides, places, strict=True)
        ),
        move_x=None if move_day is None or first is None else first(move_day),
    )


def _age(report: BatteryReport) -> Place:
    if report.in_service_since is not None:
        start: float | None = report.in_service_since.toordinal()
    else:
        start = report.points[0].day if report.points else None
    return lambda day: None if start is None else (day - start) / DAYS_PER_YEAR


def _missing(reports: Sequence[BatteryReport], places: Sequence[Place | None], text: str) -> str:
    """The text with the names of those that have no place, as one more sentence; or nothing."""
    names = [one.name for one, place in zip(reports, places, strict=True) if place is None]
    return joined(" ", ("", say(text, names=joined(", ", names)))) if names else ""
