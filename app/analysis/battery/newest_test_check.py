"""After each test: is it below what the earlier ones allowed, and has the rate changed?"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from app.analysis.fade.change_point import RateChange, rate_change
from app.analysis.fade.fade_line import own_variance, shared_errors
from app.analysis.fade.trend_point import TrendPoint, mean_rate_share, own_doubt_ah
from app.analysis.projection.capacity_fan import predictive_chance
from app.analysis.projection.capacity_record import capacity_record
from app.analysis.projection.end_of_life import reference_library
from app.analysis.projection.life_belief import UNKNOWN, UseAndClimate, prior_of
from app.analysis.projection.life_posterior import NoiseModel, life_posterior
from app.analysis.projection.projection import Parameters
from app.domain.chemistry import Chemistry
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import Celsius, joined, say
from app.domain.units.time_units import DAYS_PER_YEAR

# A test counts as low below this chance, a bend as real below that one. Together they leave fewer
# than 5 % false alarms on quiet quarterly tests (tests/benchmarks/bench_watch.py).
LOW_CHANCE = 0.02
BEND_CHANCE = 0.02
# What is left of a bend without the newest test: a bend that one test makes is a low test.
BEND_CHANCE_WITHOUT = 0.25
# The words below say “the fourth”.
MIN_EARLIER = 3
SHARE = 0.8


class Alarm(StrEnum):
    """What the newest test says of the battery."""

    NONE = "none"
    LOW_TEST = "low_test"
    FASTER = "faster"
    TOO_EARLY = "too_early"


@dataclass(frozen=True)
class Conditions:
    """How a test was done, as far as it bears on its capacity."""

    temperature_c: float | None
    current_a: float | None
    rested: bool
    meter_id: int | None


@dataclass(frozen=True)
class LateRate:
    """What it loses since a bend, in Ah a year, with the 95 % interval of a bend that was not
    chosen: this one was, and it is called 9 in 10 (tests/benchmarks/bench_watch.py)."""

    ah_a_year: float
    low: float
    high: float


@dataclass(frozen=True)
class NewestTestCheck:
    """The newest test against the earlier ones.

    chance is that of a value so low, had nothing changed. explanations are the innocent ones that
    its conditions offer; they come first. rates has the rate before a bend, late the one after it;
    brief is the words without that rate, for where it stands beside them.
    """

    alarm: Alarm
    chance: float | None
    words: str
    explanations: tuple[str, ...]
    rates: str = ""
    late: LateRate | None = None
    brief: str = ""

    @property
    def beside_answers(self) -> str:
        """The words beside the large figures, of which one is the rate after a bend."""
        return self.brief or self.words


def watch(
    points: Sequence[TrendPoint],
    conditions: dict[int, Conditions],
    chemistry: Chemistry = Chemistry.LFP,
    lives: UseAndClimate = UNKNOWN,
    projected_loss: float | None = None,
) -> NewestTestCheck:
    """Judge the newest measured test; conditions by discharge number, as far as they are known.

    projected_loss is what the projection expects in the year after that test, in Ah.
    """
    used = sorted(
        (p for p in points if p.kind is EvidenceKind.MEASURED and not p.left_out),
        key=lambda p: p.day,
    )
    if len(used) <= MIN_EARLIER:
        words = say("From the fourth measured test on, odd results are pointed out.")
        return NewestTestCheck(Alarm.TOO_EARLY, None, words, ())
    chance = chance_of_newest(used, chemistry, lives)
    bend = _bend(used)
    innocent = _explanations(used, conditions)
    if bend is not None:
        late = _late(bend)
        reckoned, look = _reckoned(late, projected_loss), _first_look(innocent)
        words = say(
            "Falling faster lately: {rate:.1f} Ah a year; 9 in 10: {low:.1f} to {high:.1f}.",
            rate=late.ah_a_year,
            low=late.low,
            high=late.high,
        )
        return NewestTestCheck(
            Alarm.FASTER,
            chance,
            joined(" ", (words, *reckoned, look or say("The next test tells more."))),
            innocent,
            _rates(bend),
            late,
            joined(" ", (say("Falling faster lately."), *reckoned, *([look] if look else ()))),
        )
    if chance < LOW_CHANCE:
        words = say(
            "The newest test is unusually low: by chance alone, fewer than {percent:.0f} in 100 "
            "tests come out this low.",
            percent=100 * LOW_CHANCE,
        )
        return NewestTestCheck(
            Alarm.LOW_TEST,
            chance,
            joined(" ", (words, _first_look(innocent) or say("Test once more."))),
            innocent,
        )
    return NewestTestCheck(Alarm.NONE, chance, say("The newest test fits the earlier ones."), ())


def _bend(used: Sequence[TrendPoint]) -> RateChange | None:
    """A faster fade that does not rest on the newest test alone."""
    found = _rate_change(used)
    if found is None or found.p_value >= BEND_CHANCE:
        return None
    without = _rate_change(used[:-1])
    return found if without is not None and without.p_value < BEND_CHANCE_WITHOUT else None


def _late(bend: RateChange) -> LateRate:
    rate, half = -DAYS_PER_YEAR * bend.slope_after, DAYS_PER_YEAR * bend.half_after
    return LateRate(rate, rate - half, rate + half)


def _reckoned(late: LateRate, projected_loss: float | None) -> tuple[str, ...]:
    """Whether the projection goes on with the rate after a bend; empty without a projection."""
    if projected_loss is None:
        return ()
    if projected_loss < late.low:
        return (say("The date assumes less and may come sooner."),)
    return (say("The date allows for it."),)


def _rates(bend: RateChange) -> str:
    """The rate before a bend with its interval; the one after it stands in the words."""
    rate, half = -DAYS_PER_YEAR * bend.slope_before, DAYS_PER_YEAR * bend.half_before
    return say(
        "That is over the last {count} tests. Before, it lost {before:.1f} Ah a year; 9 in 10: "
        "{before_low:.1f} to {before_high:.1f}. Fadeline places the bend where it fits best, which "
        "makes the difference look large.",
        count=bend.tests_after,
        before=rate,
        before_low=rate - half,
        before_high=rate + half,
    )


def _rate_change(used: Sequence[TrendPoint]) -> RateChange | None:
    return rate_change(
        np.array([p.day for p in used]),
        np.array([p.capacity_ah for p in used]),
        own_variance(used),
        shared_errors(used),
    )


def chance_of_newest(
    used: Sequence[TrendPoint], chemistry: Chemistry, lives: UseAndClimate = UNKNOWN
) -> float:
    """The chance of a capacity as low as the newest, from the projection made before it."""
    earlier, newest = used[:-1], used[-1]
    rate_share = mean_rate_share(earlier)
    record = capacity_record(
        np.array([p.day for p in earlier]),
        np.array([p.capacity_ah for p in earlier]),
        np.array([own_doubt_ah(p, rate_share) for p in earlier]),
    )
    model = Parameters(prior=prior_of(chemistry, lives))
    library = reference_library()
    posterior = life_posterior(
        record, library, share=SHARE, amp_hours=None, prior=model.prior, misfit=NoiseModel()
    )
    scatter = float(np.median(record.relative))
    own = own_doubt_ah(newest, rate_share)
    if newest.meter_id not in {p.meter_id for p in earlier}:
        # A meter that was not there before brings its own gain.
        own = newest.standard_ah
    relative = max(own / newest.capacity_ah, scatter)
    return predictive_chance(
        posterior,
        library,
        record.span,
        model.smear,
        newest.day - record.first_day,
        newest.capacity_ah,
        relative,
    )


def _explanations(used: Sequence[TrendPoint], conditions: dict[int, Conditions]) -> tuple[str, ...]:
    """What about the newest test could make it low without any wear."""
    newest = conditions.get(used[-1].discharge_id or 0)
    others = [c for p in used[:-1] if (c := conditions.get(p.discharge_id or 0)) is not None]
    if newest is None or not others:
        return ()
    found = []
    warm = [c.temperature_c for c in others if c.temperature_c is not None]
    if newest.temperature_c is not None and warm:
        usual = float(np.median(warm))
        if newest.temperature_c < usual - 5:
            found.append(
                say(
                    "It was colder: {temperature:.0f} instead of the usual {usual:.0f}.",
                    temperature=Celsius(newest.temperature_c),
                    usual=Celsius(usual),
                )
            )
    amps = [c.current_a for c in others if c.current_a is not None]
    usual_a = float(np.median(amps)) if amps else None
    if usual_a is not None and newest.current_a is not None and newest.current_a > 1.25 * usual_a:
        found.append(
            say(
                "The load was heavier: {current_a:.1f} A instead of the usual {usual_a:.1f} A.",
                current_a=newest.current_a,
                usual_a=usual_a,
            )
        )
    if not newest.rested and all(c.rested for c in others[-3:]):
        found.append(
            say("The battery had not rested after charging; the charge may have been short.")
        )
    if newest.meter_id != others[-1].meter_id:
        found.append(
            say("A different meter was used: its gain may differ from that of the one before.")
        )
    return tuple(found)


def _first_look(innocent: Sequence[str]) -> str:
    return say("Something else was different this time: rule that out first.") if innocent else ""
