"""The words of the trade that pages use, each in one plain sentence, with its source.

A page explains a word where it first stands in a sentence (app/web/rendering/dotted_terms.py) and
/words lists them all. They are English here and said in the templates.
"""

from dataclasses import dataclass

from app.domain.i18n.marks import N_


@dataclass(frozen=True)
class Term:
    """A term, what it means, where that comes from, and the part of the method that says more.

    said is how it stands in sentences, in forms parted by |, longer ones included. source is empty
    where the word is Fadeline's own or ordinary language.
    """

    key: str
    name: str
    said: str
    meaning: str
    source: str = ""
    method: str = ""


_COMMON = N_("common practice")
_GUM = N_("JCGM 100:2008 (the GUM)")

WORDS = (
    Term(
        "capacity_test",
        N_("capacity test"),
        N_("capacity test|capacity tests"),
        N_(
            "Charge the battery full, draw a steady current until it is empty, and count the "
            "amp-hours."
        ),
        N_(
            "IEC 62619, 7.1: a fifth of the rated capacity an hour, down to the stated end "
            "voltage, at 25 ± 5 °C"
        ),
        "count",
    ),
    Term(
        "rated_capacity",
        N_("rated capacity"),
        N_("rated capacity"),
        N_("The amp-hours the label promises for a new battery."),
        N_("IEC 62257-8-1:2007, 3.12: a capacity holds for declared conditions"),
        "reference",
    ),
    Term(
        "measured",
        N_("measured"),
        N_("measured|measured test|measured tests"),
        N_("The battery went from full to empty, so the amp-hours counted are its capacity."),
        method="evidence",
    ),
    Term(
        "at_least",
        N_("at least (lower bound)"),
        N_("lower bound|lower bounds"),
        N_("The test did not go from full to empty: the battery held this much, and perhaps more."),
        method="evidence",
    ),
    Term(
        "interval_95",
        N_("very likely"),
        N_("very likely|95 % interval"),
        N_(
            "Right in about 95 of 100 cases (a 95 % interval), as ± is; “9 in 10” is right in 90 "
            "of 100, and “1 in 2” is the middle."
        ),
        N_("JCGM 100:2008 (the GUM): expanded uncertainty"),
        "uncertainty",
    ),
    Term(
        "cut_off_voltage",
        N_("cut-off voltage"),
        N_("cut-off voltage|cut-off"),
        N_("The voltage under load at which the battery counts as empty."),
        N_("IEC 62619, 7.1: the end voltage that the maker states"),
        "evidence",
    ),
    Term(
        "reserve",
        N_("reserve"),
        N_("reserve"),
        N_(
            "What you never draw: a share of what the battery holds, so fewer amp-hours as it ages."
        ),
        _COMMON,
        "nights",
    ),
    Term(
        "state_of_charge",
        N_("state of charge"),
        N_("state of charge"),
        N_("How full the battery is, as a share of what it holds today."),
        _COMMON,
        "gauge",
    ),
    Term(
        "hour_rate",
        N_("hour rate and C-rate"),
        N_("hour rate|20-hour rate|C-rate"),
        N_(
            "How fast the battery is drawn: the 20-hour rate empties it in 20 hours, 0.2 C in five."
        ),
        N_("IEC 62619, 7.1, note 1: the unit current is the rated capacity divided by one hour"),
        "reference",
    ),
    Term(
        "peukert",
        N_("Peukert’s exponent"),
        N_("Peukert’s exponent|Peukert exponent"),
        N_(
            "How much less a battery gives at a high current: much less with lead-acid, little "
            "less with lithium."
        ),
        N_("Omar and others, Energies 2013, 6, 5625: holds for a narrow range of currents only"),
        "reference",
    ),
    Term(
        "fade",
        N_("fade"),
        N_("fade"),
        N_("The capacity that a battery loses for good as it ages."),
        method="fade",
    ),
    Term(
        "end_of_life",
        N_("end of life"),
        N_("end of life"),
        N_("The day from which the battery holds less than you need; it still works."),
        N_(
            "IEC 60896-11, 9.2, takes 80 % of rated; other papers take 70 or 90 %, or a "
            "share of the first test"
        ),
        "end-of-life",
    ),
    Term(
        "threshold",
        N_("limit, threshold"),
        N_("threshold"),
        N_("The least capacity that is still enough for you."),
        method="end-of-life",
    ),
    Term(
        "equivalent_age",
        N_("equivalent age"),
        N_("equivalent age"),
        N_("The years at 25 °C that would have aged the battery as much."),
        method="heat",
    ),
    Term(
        "throughput",
        N_("throughput"),
        N_("throughput"),
        N_("All amp-hours drawn from the battery so far."),
        _COMMON,
        "warranty",
    ),
    Term(
        "depth_of_discharge",
        N_("depth of discharge"),
        N_("depth of discharge"),
        N_("The share of the capacity that is drawn between two charges."),
        _COMMON,
    ),
    Term(
        "gain_error",
        N_("gain error"),
        N_("gain error"),
        N_("An error in proportion to the reading: at 1 % a meter counts 99 or 101 Ah of 100."),
        _COMMON,
        "uncertainty",
    ),
    Term(
        "zero_point",
        N_("zero point"),
        N_("zero point"),
        N_("The current that a meter shows while nothing flows; every reading contains it."),
        _COMMON,
        "uncertainty",
    ),
    Term(
        "uncertainty_budget",
        N_("uncertainty budget"),
        N_("uncertainty budget"),
        N_("The list of everything that makes a result uncertain, each with its share."),
        _GUM,
        "uncertainty",
    ),
    Term(
        "degrees_of_freedom",
        N_("degrees of freedom"),
        N_("degrees of freedom"),
        N_("How much evidence an uncertainty rests on: the less, the wider the interval."),
        N_("JCGM 100:2008 (the GUM), annex G (from memory): after Welch and Satterthwaite"),
        "uncertainty",
    ),
)
BY_KEY = {word.key: word for word in WORDS}
