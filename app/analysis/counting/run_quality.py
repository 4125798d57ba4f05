"""How the run went: what to say about it, flagged and never refused."""

import numpy as np
from numpy.typing import NDArray

from app.analysis.counting.load_profile import LoadShape
from app.analysis.counting.sampling import turns_to_and_fro
from app.analysis.statistics.arrays import Floats
from app.domain.finding import Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, say, say_plural
from app.domain.units.time_units import SECONDS_PER_HOUR

HOT_C, COLD_C = 45.0, 5.0
GAP_SHARE = 0.25
DRIFT_SHARE = 0.10
COARSE_S = 1200.0
REST_S = 60.0
SHORT_S = 600.0
# A load counts as a resistor or as constant power where that holds within this share.
STEADY_SHARE = 0.02
# No load runs at less: a voltage of nothing is a meter that was not connected.
LEAST_V = 0.1
SLIPPED = N_(
    "Reading {row} says {odd_a:.4g} A between {before_a:.4g} A and {after_a:.4g} A, about a "
    "factor of ten. Fadeline counted it as {counted_a:.4g} A, which gives {counted_ah:.1f} Ah in "
    "all; as entered it would give {as_it_stands_ah:.1f} Ah. Please correct it."
)
TO_AND_FRO = N_(
    "The load went up and down between {low_a:.3g} A and {high_a:.3g} A. Each reading catches it "
    "at a random moment; the uncertainty includes how far their mean may be off."
)
CONSTANT_POWER = N_(
    "The current went from about {first:.3g} A to about {last:.3g} A, as a load of constant power "
    "draws it."
)
RESISTIVE = N_(
    "The current went from about {first:.3g} A to about {last:.3g} A, as a resistor draws it."
)
DRIFTED = N_("The current went from about {first:.3g} A to about {last:.3g} A over the test.")


def course_caveats(
    time: Floats,
    shape: LoadShape,
    rows: slice,
    voltage: Floats | None,
    temperature: Floats,
    duration_s: float,
    charge_ah: float,
) -> tuple[Finding, ...]:
    """Everything worth saying about the run between the first and the last row that count.

    time and shape cover the whole record; voltage and temperature only the rows.
    """
    t, amps = time[rows], shape.current_a[rows]
    loaded = amps > shape.threshold_a
    found = [
        *_short(duration_s),
        *_slip(time, shape, rows, charge_ah),
        *_outside(time, shape, rows),
        *_interruptions(loaded[shape.first_loaded_row - shape.first_row :]),
        *_gaps(t, duration_s),
        *_changes(amps[loaded], None if voltage is None else voltage[loaded]),
        *_temperature(temperature[np.isfinite(temperature)]),
    ]
    return tuple(found)


def _short(duration_s: float) -> list[Finding]:
    if duration_s >= SHORT_S:
        return []
    return [
        Finding(
            "short_run",
            say(
                "The test took only {span}: are the times in another unit?", span=_span(duration_s)
            ),
        )
    ]


def _slip(time: Floats, shape: LoadShape, rows: slice, charge_ah: float) -> list[Finding]:
    """The reading that cannot be, with what each way of reading it gives."""
    slip = shape.slip
    if slip is None or not rows.start < slip.row < rows.stop - 1:
        return []
    hours = float(time[slip.row + 1] - time[slip.row - 1]) / 2 / SECONDS_PER_HOUR
    words = say(
        SLIPPED,
        row=slip.row + 1,
        odd_a=slip.odd_a,
        before_a=slip.before_a,
        after_a=slip.after_a,
        counted_a=slip.counted_a,
        counted_ah=charge_ah,
        as_it_stands_ah=charge_ah + (slip.odd_a - slip.counted_a) * hours,
    )
    return [Finding("spike", words)]


def _outside(time: Floats, shape: LoadShape, rows: slice) -> list[Finding]:
    """Rest before the load came on, and what was logged after the end."""
    found = []
    rest = float(time[shape.first_row] - time[0])
    if rest > REST_S:
        found.append(
            Finding(
                "rest_before",
                say("The {span} of rest before the load came on does not count.", span=_span(rest)),
                minor=True,
            )
        )
    after = len(time) - rows.stop
    if after > 0:
        on = shape.current_a[rows.stop - 1 :] > shape.threshold_a
        came_back = bool(np.any(~on[:-1] & on[1:]))
        span = _span(float(time[-1] - time[rows.stop - 1]))
        text = say_plural(
            "1 reading after the end ({span}) does not count.",
            "{count} readings after the end ({span}) do not count.",
            after,
            span=span,
        )
        if came_back:
            text += " " + say("The load came back on after it.")
        found.append(Finding("after_end", text, minor=True))
    return found


def _interruptions(on: NDArray[np.bool_]) -> list[Finding]:
    stops = int(np.count_nonzero(on[:-1] & ~on[1:]))
    if stops == 0:
        return []
    if stops == 1:
        return [Finding("dropped_out", say("The load dropped out once and came back."))]
    return [
        Finding("cycled", say("The load switched off and on again {stops} times.", stops=stops))
    ]


def _gaps(t: Floats, duration_s: float) -> list[Finding]:
    steps = np.diff(t)
    longest, usual = float(steps.max()), float(np.median(steps))
    found = []
    if longest > GAP_SHARE * duration_s:
        found.append(
            Finding(
                "gap",
                say(
                    "No reading for {span} in a test of {whole}: the load during that time is an "
                    "assumption.",
                    span=_span(longest),
                    whole=_span(duration_s),
                ),
            )
        )
    if usual <= 600 and abs(longest - SECONDS_PER_HOUR) <= 2 * usual:
        found.append(
            Finding(
                "clock_change",
                say(
                    "The clock jumps by {span} between two readings. If it was set forward then, "
                    "the count includes an hour that never was: correct the times.",
                    span=_span(longest),
                ),
            )
        )
    if usual >= COARSE_S:
        found.append(
            Finding(
                "coarse",
                say(
                    "The readings are {span} apart: they cannot show a load that changed in "
                    "between.",
                    span=_span(usual),
                ),
                minor=True,
            )
        )
    return found


def _changes(amps: Floats, voltage: Floats | None) -> list[Finding]:
    """A load that turns to and fro, or one that drifts."""
    if not turns_to_and_fro(amps):
        return _drift(amps, voltage)
    words = say(TO_AND_FRO, low_a=amps.min(), high_a=amps.max())
    return [Finding("to_and_fro", words, minor=True)]


def _drift(amps: Floats, voltage: Floats | None) -> list[Finding]:
    """How the current moved, and whether that is how a resistor or a converter draws."""
    fifth = max(1, len(amps) // 5)
    first, last = float(np.mean(amps[:fifth])), float(np.mean(amps[-fifth:]))
    change = abs(last - first) / first
    seen = voltage is not None and float(voltage.min()) >= LEAST_V
    if voltage is not None and seen and len(amps) >= 3 and change > STEADY_SHARE:
        for values, code, words in (
            (amps * voltage, "constant_power", CONSTANT_POWER),
            (amps / voltage, "resistive", RESISTIVE),
        ):
            if float(np.std(values)) <= STEADY_SHARE / 2 * abs(float(np.mean(values))):
                return [Finding(code, say(words, first=first, last=last), minor=True)]
    if change <= DRIFT_SHARE:
        return []
    return [Finding("drift", say(DRIFTED, first=first, last=last))]


def _temperature(known: Floats) -> list[Finding]:
    found = []
    if known.size and known.max() > HOT_C:
        hottest, limit = Celsius(known.max()), Celsius(HOT_C)
        text = say(
            "The battery reached {hottest:.0f}, above {limit:.0f}.", hottest=hottest, limit=limit
        )
        found.append(Finding("hot", text))
    if known.size and known.min() < COLD_C:
        coldest, limit = Celsius(known.min()), Celsius(COLD_C)
        text = say(
            "The battery was at {coldest:.0f}, below {limit:.0f}.", coldest=coldest, limit=limit
        )
        found.append(Finding("cold", text))
    return found


def _span(seconds: float) -> str:
    if seconds >= SECONDS_PER_HOUR:
        return say("{hours:.1f} h", hours=seconds / SECONDS_PER_HOUR)
    return f"{seconds / 60:.0f} min" if seconds >= 60 else f"{seconds:.0f} s"
