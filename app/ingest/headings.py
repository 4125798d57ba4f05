"""What a heading says: whose quantity it is, in which unit, and how far it can be trusted."""

import re
from collections.abc import Sequence

from app.domain.units.column import ColumnUse
from app.domain.units.unit import Dimension, unit_named
from app.ingest.wording.heading_words import (
    incoming,
    other_share,
    role_of_words,
    says_state_of_charge,
    words_of,
)

# A heading of these alone tells several batteries apart; beside a quantity they only say whose.
_CHANNELS = ("channel", "ch", "battery", "unit", "kanal")
# Units that change a value, by role: whole words, wherever they stand in the heading.
_SCALED: tuple[tuple[str, ColumnUse, str], ...] = (
    ("current", ColumnUse.CURRENT_MA, r"ma|milliam\w*"),
    ("current", ColumnUse.CURRENT_UA, r"[uμ]a|microam\w*"),
    ("current", ColumnUse.CURRENT_KA, r"ka"),
    ("voltage", ColumnUse.VOLTAGE_MV, r"mv|millivo\w*"),
    ("voltage", ColumnUse.VOLTAGE_KV, r"kv"),
    ("temperature", ColumnUse.TEMPERATURE_F, r"°f|f|degf|fahrenh\w*"),
    ("power", ColumnUse.POWER_KW, r"kw|kilowatt\w*"),
    ("power", ColumnUse.POWER_MW, r"mw|milliwatt\w*"),
    ("count", ColumnUse.COUNT_MAH, r"mah|milliamp\w*"),
    ("time", ColumnUse.ELAPSED_MS, r"ms|msec|millisec\w*"),
    ("time", ColumnUse.ELAPSED_MIN, r"min|mins|minut\w*"),
    (
        "time",
        ColumnUse.ELAPSED_H,
        r"h|hr|hrs|hour\w*|stunde\w*|heures|horas|ore|uren|godziny|timmar",
    ),
    ("time", ColumnUse.ELAPSED_S, r"s|sec|secs|seg|sek|second\w*|sekund\w*|segund\w*"),
)
PLAIN = {
    "gauge": ColumnUse.GAUGE_PERCENT,
    "channel": ColumnUse.CHANNEL,
    "count": ColumnUse.COUNT_AH,
    "energy": ColumnUse.ENERGY_WH,
    "power": ColumnUse.POWER_W,
    "temperature": ColumnUse.TEMPERATURE_C,
    "current": ColumnUse.CURRENT_A,
    "voltage": ColumnUse.VOLTAGE_V,
    "date": ColumnUse.DATE,
    "time": ColumnUse.CLOCK,
}
# The base unit where it is named, by role.
_NAMED = {
    "current": r"a|amps?|amper\w*|ampèr\w*",
    "voltage": r"v|volts?|vdc|voltio\w*|volty|voltow",
    "power": r"w|watts?|vatio\w*",
    "count": r"ah|amp-?h\w*|ampereh\w*|amph\w*",
    "energy": r"wh|watth\w*",
    "temperature": r"°c|c|degc|celsi\w*",
}
_LETTERS = {"a": "current", "c": "temperature", "f": "temperature"}
_OF_KIND = {
    Dimension.CURRENT: "current",
    Dimension.VOLTAGE: "voltage",
    Dimension.POWER: "power",
    Dimension.CHARGE: "count",
    Dimension.ENERGY: "energy",
    Dimension.TEMPERATURE: "temperature",
    Dimension.SHARE: "gauge",
}
_UNIT_FIRST = re.compile(r"(?i)(m?[av])[\s_]+(?:min|max|avg|mean|peak|load|bat|batt|battery|total)")
_BRACKETS = re.compile(r"[\[(]\s*([^\[\]()]+?)\s*[\])]")
_PREFIXED = re.compile(r"([^\W\d_]{1,2})(Ah|Wh|A|V|W)")
# Behind a word, without brackets, a single letter must be a prefix of the SI to be taken for one.
_LONE_PREFIXES = "fpnMcdhGTPE"
_NO_UNITS = ("VA", "BA", "CV", "DV")

# Which of several currents a test is about: what the battery gave, as its mean, comes first.
BATTERY, SINGLE, EXTREME = 0, 1, 2
_OF_BATTERY = (
    r"bat|batt|battery|batteri[ae]?|bateria|akku|accu|akumulator\w*|pack|total|avg|average|mean"
    r"|mittel\w*|durchschn\w*|moyen\w*|medi[oa]|gemiddeld\w*|sredni\w*|medel\w*"
    r"|(?:pack|akku|accu|batteri\w*)(?:strom|stroom|spannung|spanning)"
)
_OF_CELLS = r"cell\w*|zelle\w*|cellule\w*|celd\w*|celul\w*|ogniw\w*|cella"
_OF_EXTREMES = (
    rf"min|max|minim\w*|maxim\w*|peak|spitze\w*|{_OF_CELLS}|picco|pico|szczyt\w*|delta|diff\w*"
)


def use_of_heading(name: str) -> ColumnUse:
    """What a heading says: a word or a unit tells the role, a unit the scale."""
    if leading := _UNIT_FIRST.fullmatch(name.strip()):
        # In "A min" the unit stands in front, and min is no time.
        return use_of_heading(leading[1])
    words = words_of(name)
    if bare_charge(name):
        return ColumnUse.COUNT_AH
    counted = any(re.fullmatch(r"m?ah", word) for word in words)
    state = says_state_of_charge(words)
    flows_in = incoming(words)
    if counted and flows_in == ["charge"]:
        # A charge in amp-hours is an amount, and none that flows in.
        flows_in = []
    if not state and flows_in:
        return ColumnUse.IGNORE
    role = "gauge" if state else _role_of_unit(name) or _role(words)
    if role == "gauge" and other_share(words):
        return ColumnUse.IGNORE
    if role == "energy" and not {"kwh", "mwh", "kj", "j"}.isdisjoint(words):
        return ColumnUse.IGNORE
    for scaled, use, unit in _SCALED:
        if scaled == role and any(re.fullmatch(unit, word) for word in words):
            return use
    return PLAIN.get(role, ColumnUse.IGNORE)


def bare_charge(name: str) -> bool:
    """Whether a heading says charge and nothing else: an amount, or how full."""
    return words_of(name) in (["charge"], ["ladung"], ["charge", "drawn"])


def _role(words: list[str]) -> str:
    if role := role_of_words(words):
        return role
    # One letter is a unit only where it stands last: "Battery A", not "A phase".
    role = _LETTERS.get(words[-1], "") if words else ""
    if any(word in _CHANNELS for word in words):
        # "Channel A" is a name, "Battery A" a current.
        return role if role and words[0] not in ("channel", "ch", "kanal") else "channel"
    return role


def _role_of_unit(name: str) -> str:
    """The role that a unit in brackets tells, with a prefix nobody knows, too."""
    for shown in _BRACKETS.findall(name):
        if unit := unit_named(shown):
            return _OF_KIND.get(unit.kind, "")
    odd = _odd_unit(name)
    base = None if odd is None else unit_named(odd[2])
    return "" if base is None else _OF_KIND[base.kind]


def _odd_unit(name: str) -> re.Match[str] | None:
    for shown in _BRACKETS.findall(name):
        found = _PREFIXED.fullmatch(shown)
        if found and unit_named(shown) is None and shown not in _NO_UNITS:
            return found
    last = re.split(r"[\s_/]+", name.strip())[-1]
    found = _PREFIXED.fullmatch(last)
    lone = found and found[1] in _LONE_PREFIXES and unit_named(last) is None
    return found if lone and last not in _NO_UNITS else None


def odd_prefix(name: str) -> str:
    """A unit whose prefix is not known here, such as nA or MW; else empty."""
    found = _odd_unit(name)
    return "" if found is None else found[0]


def names_unit(name: str, use: ColumnUse) -> bool:
    """Whether the heading names the unit of what it was taken for."""
    if use is not PLAIN.get(use.role):
        return True
    unit = _NAMED.get(use.role)
    return unit is None or any(re.fullmatch(unit, word) for word in words_of(name))


def rank(name: str) -> int:
    """How near a column is to what the battery gave: its own or the mean, any other, an extreme."""
    words = words_of(name)
    if any(re.fullmatch(_OF_EXTREMES, word) for word in words):
        return EXTREME
    return BATTERY if any(re.fullmatch(_OF_BATTERY, word) for word in words) else SINGLE


def of_a_cell(name: str) -> bool:
    """Whether a heading is about a cell of the battery, or an extreme of its cells."""
    return any(re.fullmatch(_OF_CELLS, word) for word in words_of(name))


def cell_voltages(header: Sequence[str]) -> list[int]:
    """The voltages of cells, which are none of the pack's; a single one may be all there is."""
    volts = [i for i, name in enumerate(header) if use_of_heading(name).role == "voltage"]
    cells = [i for i in volts if of_a_cell(header[i])]
    return [] if len(volts) == 1 else cells
