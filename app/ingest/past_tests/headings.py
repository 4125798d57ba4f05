"""What the heading of a column of past tests says, in the nine languages of headings."""

import re
from enum import StrEnum

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import ColumnUse
from app.ingest.headings import of_a_cell, use_of_heading
from app.ingest.wording.heading_words import (
    incoming,
    says_discharge,
    says_state_of_charge,
    words_of,
)


class Aside(StrEnum):
    """Why a column that has a quantity of a test is none that a test is made of."""

    RATED = N_("the battery's rating")
    INTO = N_("the charge that went into the battery")
    BATTERY_TEMPERATURE = N_("the battery's temperature, not that of the air")
    OTHER_VOLTAGE = N_("by its heading neither the last voltage nor the mean")
    OTHER_CURRENT = N_("the highest or lowest current, not its mean")
    STATE = N_("how full the battery was, not the amount it delivered")
    EITHER_TIME = N_("the heading does not say whether it is a time of day or a duration")

    @property
    def label(self) -> str:
        return say(self.value)


_RATED = r"rated|nominal\w*|nenn\w*|nameplate|new|neu|rating|znamionow\w*|markt?|nominell\w*"
_INTO = r"charged|geladen\w*|in|into|recharged|added|aufgeladen\w*|eingeladen\w*"
_LAST = (
    r"end\w*|last|final\w*|cut|cutoff|off|min|minimum|lowest|letzte\w*|schluss\w*|fin|fine|einde"
    r"|slut\w*|koniec|koncow\w*|ultim[ao]|derniere?|laatste|sista|entladeschluss\w*|empty|leer"
    r"|schlussspannung|endspannung"
)
_MEAN = (
    r"mean|avg|average|mittel\w*|mittlere?|durchschn\w*|moyenn?e?|medi[ao]|promedio|gemiddeld\w*"
    r"|sredni\w*|medel\w*"
)
_EXTREME = r"max\w*|peak|spitze\w*|picco|pico|szczyt\w*|min\w*"
_BATTERY = (
    r"battery|batteries|bank|akku|batterie|batteri|batteria|bateria|accu|akumulator|pack|batt?|bat"
)
_BATTERY_WORDS = rf"{_BATTERY}|internal|innen|bms|cells?|zelle\w*|akkutemperatur"
_DAY = (
    r"date|datum|day|tag|fecha|jour|dia|giorno|data|dag|dzien|when|wann|quand|cuando|quando|kiedy"
    r"|testdatum|testdate|testday|testtag|prufdatum"
)
_CLOCK = r"start\w*|began|begin\w*|uhrzeit|clock|o'clock|beginn"
_DURATION = (
    r"durat\w*|dauer\w*|laufzeit|runtime|run|hours?|stunden?|std|hrs?|h|duree|durac\w*|durata"
    r"|duur|czas|trwania|tid|uren|heures|horas|ore|godzin\w*|timmar|min|mins|minut\w*|entladedauer"
    r"|lasted|took|elapsed|length"
)
_MINUTES = r"min|mins|minut\w*"
_WORDS: tuple[tuple[PastColumn, str], ...] = (
    (
        PastColumn.NOTES,
        r"notes?|remarks?|comments?|bemerkung\w*|notiz\w*|kommentar\w*|anmerkung\w*|notas?"
        r"|osservazion\w*|opmerking\w*|uwag[ai]|anteckning\w*|remarques?|commentaires?|commenti"
        r"|observac\w*|comentarios?|note|anm|bem",
    ),
    (
        PastColumn.METER,
        r"meters?|instrument\w*|shunt|messger\w*|zahler|compteur|medidor|misuratore|miernik|matare"
        r"|monitor|counter|zangenmessgerat|clamp",
    ),
    (
        PastColumn.END,
        r"ends?|ended|ending|stop\w*|ende|beendet|endgrund|fin|fine|einde|slut|koniec|fim|grund"
        r"|reason|why|abbruch\w*|abschaltung|termin\w*",
    ),
    (
        PastColumn.CHARGE,
        r"charged?|charging|geladen|aufgeladen|ladung|vorher|before|full|voll|vollgeladen|carga"
        r"|carica|caricata|cargada|opgeladen|laddad|naladowan\w*|chargee|plein",
    ),
    (
        PastColumn.KIND,
        r"kind|type|typ|art|result|verdict|ergebnis|valid|evidence|status|outcome|gultig",
    ),
    (
        PastColumn.LOAD,
        r"loads?|last|verbraucher|belastung|charge|carico|carga|belasting|belastning|obciazenie"
        r"|consumers?|appliances?",
    ),
)
_ASKS_FULL = re.compile(r"full\w*|voll\w*|plein\w*|llen[oa]|pien[oa]|vol|chei[oa]|peln\w*")


def column_of_heading(heading: str) -> PastColumn | Aside:
    """What a heading says of its column, before anything in it was looked at.

    An amount without a unit is taken for amp-hours until its numbers are known.
    """
    words = words_of(heading)
    if not words:
        return PastColumn.IGNORE
    if _any(words, dict(_WORDS)[PastColumn.NOTES]):
        return PastColumn.NOTES
    return _quantity(heading, words) or _word(heading, words)


def column_of_words(heading: str) -> PastColumn:
    """What a heading says of a column of words, even where it names an amount as well."""
    found = _word(heading, words_of(heading))
    return found if isinstance(found, PastColumn) else PastColumn.IGNORE


def asks_whether_full(heading: str) -> bool:
    """Whether yes and no in the column say that the battery was full, or not."""
    return any(_ASKS_FULL.fullmatch(word) for word in words_of(heading))


def names_amount_unit(heading: str) -> bool:
    """Whether the heading says in which unit its amounts are."""
    return _any(words_of(heading), r"m?ah|k?wh|%|soh|percent|prozent|energ\w*|amph\w*|ampereh\w*")


def names_temperature_unit(heading: str) -> bool:
    """Whether the heading says °C or °F."""
    return _any(words_of(heading), r"°?[cf]|deg[cf]|celsi\w*|fahrenh\w*")


def _quantity(heading: str, words: list[str]) -> PastColumn | Aside | None:
    """What a unit or the name of a quantity says."""
    use = use_of_heading(heading)
    if _any(words, "%|soh|health|percent|prozent"):
        return _share(words)
    counted = _any(words, "m?ah|k?wh")
    if counted or use.role in ("count", "energy") or (use is ColumnUse.CHANNEL and counted):
        return _amount(words, use)
    if use.role == "voltage" or _any(words, "v|volts?|cutoff"):
        return _voltage(words)
    if use.role == "temperature":
        if _any(words, _BATTERY_WORDS) or of_a_cell(heading):
            return Aside.BATTERY_TEMPERATURE
        return PastColumn.AIR_F if use is ColumnUse.TEMPERATURE_F else PastColumn.AIR_C
    if use.role == "power":
        return PastColumn.POWER_W
    if use.role == "current":
        return Aside.OTHER_CURRENT if _any(words, _EXTREME) else PastColumn.CURRENT_A
    return None


def _share(words: list[str]) -> PastColumn | Aside:
    if says_state_of_charge(words) or _any(words, "soc|charged?|geladen|ladezustand|gauge"):
        return PastColumn.CHARGE if _any(words, "charged|geladen|before|vorher") else Aside.STATE
    if _any(words, r"dod|depth|humid\w*|rh|feucht\w*|luftfeucht\w*"):
        return PastColumn.IGNORE
    return PastColumn.RATED_PERCENT


def _amount(words: list[str], use: ColumnUse) -> PastColumn | Aside:
    if _any(words, _RATED):
        return Aside.RATED
    if not says_discharge(words) and (
        _any(words, _INTO) or incoming(words) not in ([], ["charge"])
    ):
        return Aside.INTO
    if _any(words, "kwh"):
        return PastColumn.ENERGY_KWH
    if _any(words, "wh") or use is ColumnUse.ENERGY_WH:
        return PastColumn.ENERGY_WH
    return PastColumn.CAPACITY_MAH if use is ColumnUse.COUNT_MAH else PastColumn.CAPACITY_AH


def _voltage(words: list[str]) -> PastColumn | Aside:
    if _any(words, _MEAN):
        return PastColumn.MEAN_VOLTAGE_V
    if _any(words, _LAST):
        return PastColumn.LAST_VOLTAGE_V
    return Aside.RATED if _any(words, _RATED) else Aside.OTHER_VOLTAGE


def _word(heading: str, words: list[str]) -> PastColumn | Aside:
    """What words alone say."""
    role = use_of_heading(heading).role
    if role == "date" or _any(words, _DAY):
        return PastColumn.DAY
    if _any(words, _DURATION):
        return PastColumn.MINUTES if _any(words, _MINUTES) else PastColumn.HOURS
    if role == "time":
        return PastColumn.CLOCK if _any(words, _CLOCK) else Aside.EITHER_TIME
    for column, names in _WORDS:
        if _any(words, names):
            return column
    if all(re.fullmatch(_BATTERY, word) or word in ("which", "name") for word in words):
        return PastColumn.BATTERY
    return PastColumn.IGNORE


def _any(words: list[str], names: str) -> bool:
    return any(re.fullmatch(names, word) for word in words)
