"""The words of the trade that pages use, each in one plain sentence, with its source.

A page explains a word where it appears (templates/_partials/words.html) and /words lists them all.
They are English here and said in the templates.
"""

from dataclasses import dataclass

from app.domain.marks import N_


@dataclass(frozen=True)
class Word:
    """A term, what it means, where that comes from, and the part of the method that says more.

    source is empty where the word is Fadeline's own or ordinary language.
    """

    key: str
    name: str
    meaning: str
    source: str = ""
    method: str = ""


_COMMON = N_("common practice")
_GUM = N_("JCGM 100:2008 (the GUM)")

WORDS = (
    Word(
        "capacity_test",
        N_("capacity test"),
        N_(
            "Charging the battery full, drawing a steady current until it is empty, and "
            "counting the amp-hours that came out."
        ),
        N_(
            "IEC 62619, 7.1: a fifth of the rated capacity an hour, down to the stated end "
            "voltage, at 25 ± 5 °C"
        ),
        "count",
    ),
    Word(
        "rated_capacity",
        N_("rated capacity"),
        N_(
            "The amp-hours the label promises, for a new battery at the temperature and "
            "the current that the maker states."
        ),
        N_("IEC 62257-8-1:2007, 3.12: a capacity holds for declared conditions"),
        "reference",
    ),
    Word(
        "measured",
        N_("measured"),
        N_(
            "The battery was full at the start and empty at the end, so what was counted "
            "is its capacity."
        ),
        method="evidence",
    ),
    Word(
        "at_least",
        N_("at least (lower bound)"),
        N_(
            "The test stopped early or did not begin full: so much was in there for "
            "certain, and how much more is not known."
        ),
        method="evidence",
    ),
    Word(
        "interval_95",
        N_("95 % interval"),
        N_(
            "The range in which the true value lies in about 95 of 100 such cases; it is "
            "what stands behind ±."
        ),
        N_("JCGM 100:2008 (the GUM): expanded uncertainty"),
        "uncertainty",
    ),
    Word(
        "cut_off_voltage",
        N_("cut-off voltage"),
        N_("The voltage under load at which the battery counts as empty and the test ends."),
        N_("IEC 62619, 7.1: the end voltage that the maker states"),
        "evidence",
    ),
    Word(
        "reserve",
        N_("reserve"),
        N_(
            "The part of the capacity that you never draw, kept back so that the battery "
            "is not run empty."
        ),
        _COMMON,
        "nights",
    ),
    Word(
        "state_of_charge",
        N_("state of charge"),
        N_(
            "How full the battery is now, as a share of what it can hold today; a gauge "
            "that shows it has usually counted, not measured."
        ),
        _COMMON,
        "gauge",
    ),
    Word(
        "hour_rate",
        N_("hour rate and C-rate"),
        N_(
            "How hard the battery is drawn: at the 20-hour rate the rated capacity would "
            "last 20 hours; a C-rate of 0.2 draws a fifth of it in an hour."
        ),
        N_("IEC 62619, 7.1, note 1: the unit current is the rated capacity divided by one hour"),
        "reference",
    ),
    Word(
        "peukert",
        N_("Peukert’s exponent"),
        N_(
            "A number that says how much less comes out of a battery when more is drawn at "
            "once: much with lead-acid, little with lithium."
        ),
        N_("Omar and others, Energies 2013, 6, 5625: holds for a narrow range of currents only"),
        "reference",
    ),
    Word(
        "fade",
        N_("fade"),
        N_(
            "The capacity that a battery loses for good as it ages, here in percent of the "
            "rated capacity a year."
        ),
        method="fade",
    ),
    Word(
        "end_of_life",
        N_("end of life"),
        N_("The day on which the battery holds less than you need; it still works, only shorter."),
        N_(
            "IEC 60896-11, 9.2, takes 80 % of rated; other papers take 70 or 90 %, or a "
            "share of the first test"
        ),
        "end-of-life",
    ),
    Word(
        "threshold",
        N_("threshold"),
        N_(
            "The capacity you chose as the least that is still enough: a share of the "
            "label or of the first test, or the amp-hours for some nights."
        ),
        method="end-of-life",
    ),
    Word(
        "equivalent_age",
        N_("equivalent age"),
        N_(
            "The years at 25 °C that would have aged the battery as much as the "
            "temperatures it really had."
        ),
        method="heat",
    ),
    Word(
        "throughput",
        N_("throughput"),
        N_("All amp-hours drawn from the battery so far, added up."),
        _COMMON,
        "warranty",
    ),
    Word(
        "depth_of_discharge",
        N_("depth of discharge"),
        N_(
            "How much of the capacity is drawn before it is charged again: the other side "
            "of the state of charge."
        ),
        _COMMON,
    ),
    Word(
        "gain_error",
        N_("gain error"),
        N_(
            "How far a meter is off in proportion to what it reads: at 1 % it counts 99 or 101 Ah "
            "of 100, and the same way in every test."
        ),
        _COMMON,
        "uncertainty",
    ),
    Word(
        "zero_point",
        N_("zero point"),
        N_(
            "What a meter reads while nothing flows; it is added to every reading, so that it "
            "counts most in a long test with a small current."
        ),
        _COMMON,
        "uncertainty",
    ),
    Word(
        "uncertainty_budget",
        N_("uncertainty budget"),
        N_(
            "The list of everything that makes a result unsure, each with its share, and their sum."
        ),
        _GUM,
        "uncertainty",
    ),
    Word(
        "degrees_of_freedom",
        N_("degrees of freedom"),
        N_(
            "How much evidence stands behind an uncertainty: the fewer, the wider the "
            "interval has to be."
        ),
        N_("JCGM 100:2008 (the GUM), annex G (from memory): after Welch and Satterthwaite"),
        "uncertainty",
    ),
)
BY_KEY = {word.key: word for word in WORDS}
