"""The figures that a comparison begins with: who fades faster, each rate, and the difference."""

from app.analysis.battery.answers import Answer
from app.analysis.comparison.comparison import Difference
from app.analysis.comparison.comparison_report import ComparedPair, ComparisonReport
from app.analysis.comparison.comparison_side import ComparedSide
from app.analysis.evidence.verdict import likelihood
from app.domain.i18n.message import say


def comparison_answers(report: ComparisonReport) -> tuple[Answer, ...]:
    """At most four: of more than two sides the fastest and the slowest."""
    if len(report.pairs) == 1:
        pair = report.pairs[0]
        first = _after(pair) if report.moved_on else _faster(pair)
        gap = () if pair.difference is None else (_difference(pair, bool(report.moved_on)),)
        names = [one.name for one in report.sides]
        if report.moved_on:
            names = [say("Rate before"), say("Rate after")]
        sides = zip(report.sides, names, strict=True)
        return (first, *(_side(one, name) for one, name in sides), *gap)
    ranked = sorted(
        (one for one in report.sides if one.rate_percent_per_year is not None),
        key=lambda one: one.rate_percent_per_year or 0.0,
    )
    ends = (ranked[-1], ranked[0]) if len(ranked) > 1 else tuple(ranked)
    return (_of_pairs(report), *(_side(one, one.name) for one in ends))


def _faster(pair: ComparedPair) -> Answer:
    label, gap = say("Fades faster"), pair.difference
    if gap is None:
        return Answer(label, say("not known"), say("a rate of each is needed"))
    faster = gap.points_per_year >= 0
    chance = gap.probability_faster if faster else 1 - gap.probability_faster
    name = pair.first if faster else pair.second
    if gap.proven:
        return Answer(label, name, likelihood(chance))
    doubt = say("{likelihood}: {name}", likelihood=likelihood(chance), name=name)
    return Answer(label, say("not proven"), doubt, _proof_takes(gap))


def _after(pair: ComparedPair) -> Answer:
    label, gap = say("After the move"), pair.difference
    if gap is None:
        return Answer(label, say("not known"), say("a rate of each is needed"))
    faster = gap.points_per_year >= 0
    chance = gap.probability_faster if faster else 1 - gap.probability_faster
    way = say("fades faster") if faster else say("fades slower")
    if gap.proven:
        return Answer(label, way, likelihood(chance))
    doubt = say("{likelihood}: {name}", likelihood=likelihood(chance), name=way)
    return Answer(label, say("no change proven"), doubt, _proof_takes(gap))


def _proof_takes(gap: Difference) -> str:
    """95 % between both sides are 97.5 % for one direction: else 96 % “not proven” puzzles."""
    return say("a proof takes {needed:.1f} %", needed=gap.needed_percent)


def _side(side: ComparedSide, label: str) -> Answer:
    rate, low, high = side.rate_percent_per_year, side.low, side.high
    if rate is None or low is None or high is None:
        return Answer(label, say("no rate yet"), side.no_rate_because)
    ah = side.rated_ah / 100
    doubt = say(
        "very likely {low:.1f} to {high:.1f}", low=_written(low * ah), high=_written(high * ah)
    )
    share = say("{percent:.1f} % of rated", percent=_written(rate))
    return Answer(label, say("{ah:.1f} Ah a year", ah=_written(rate * ah)), doubt, share)


def _difference(pair: ComparedPair, moved: bool) -> Answer:
    """In percentage points of rated, which are the same for every size."""
    gap = pair.difference
    if gap is None:
        return Answer(say("Difference"), say("not known"), "")
    sign = -1 if gap.points_per_year < 0 else 1
    low, high = sorted((_written(sign * gap.low), _written(sign * gap.high)))
    figure = say("{points:.1f} points a year", points=abs(gap.points_per_year))
    doubt = say("very likely {low:.1f} to {high:.1f}", low=low, high=high)
    label = say("Change of rate") if moved else say("Difference")
    return Answer(label, figure, doubt, say("percentage points of rated"))


def _of_pairs(report: ComparisonReport) -> Answer:
    known = [one.difference for one in report.pairs if one.difference is not None]
    proven = sum(1 for one in known if one.proven)
    label = say("Proven different")
    if not known:
        return Answer(label, say("not known"), say("a rate of each is needed"))
    figure = say("{proven} of {pairs} pairs", proven=proven, pairs=len(report.pairs))
    return Answer(label, figure, say("very likely right for all pairs"))


def _written(value: float) -> float:
    return 0.0 if abs(value) < 0.05 else value
