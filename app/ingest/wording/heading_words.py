"""The words of headings: how they are told apart, and which quantity each of them names.

English, German, French, Spanish, Italian, Dutch, Portuguese, Polish and Swedish, all without
accents, because half of all headings have lost theirs.
"""

import re
import unicodedata
from dataclasses import dataclass

_SPELLED_TIMES = ("hour", "minut", "second", "millisec", "stunde", "sekund", "segund")


@dataclass(frozen=True)
class RoleWords:
    """What names a quantity: whole words, and beginnings and endings of longer ones."""

    role: str
    whole: tuple[str, ...] = ()
    begin: tuple[str, ...] = ()
    end: tuple[str, ...] = ()

    def holds(self, word: str) -> bool:
        """Whether this word of a heading names the quantity."""
        if word in self.whole or (self.begin and word.startswith(self.begin)):
            return True
        return bool(self.end) and word.endswith(self.end)


# The first role wins.
ROLE_WORDS = (
    RoleWords("energy", ("wh",), ("watth",)),
    RoleWords(
        "count",
        ("ah", "mah", "capacity", "capacite", "capacidad", "capacita", "capacidade"),
        (
            *("amp-h", "ampereh", "amph", "milliamph", "kapaz", "consumed"),
            *("verbraucht", "entnommen", "capaciteit", "pojemno", "kapacitet"),
        ),
    ),
    RoleWords("energy", ("energy",), ("energ",)),
    RoleWords(
        "power",
        ("p", "power", "w", "kw", "mw", "watt", "watts", "moc", "vatios"),
        ("leist", "puissan", "kilowatt", "potenci", "potenz", "vermogen", "effekt"),
        ("leistung",),
    ),
    RoleWords(
        "gauge",
        ("soc", "%", "gauge", "percent"),
        ("ladezust", "prozent", "laadtoestand", "laddningsniv", "laddningstill", "laddningsgrad"),
    ),
    RoleWords(
        "temperature",
        ("temp", "°c", "°f", "degc", "degf"),
        ("temper", "fahrenh", "celsi"),
        ("temperatur", "temperatuur", "temperature", "temperatura"),
    ),
    RoleWords(
        "current",
        ("i", "amp", "amps", "ma", "ua", "μa", "ka"),
        (
            *("curr", "strom", "amper", "cour", "milliam", "microam", "stroom", "prad"),
            *("corrient", "corrent", "intensi", "natezeni"),
        ),
        ("strom", "stroom", "current"),
    ),
    RoleWords(
        "voltage",
        ("u", "v", "mv", "kv", "volt", "volts", "vdc", "volty"),
        (
            *("volta", "spannung", "tension", "millivo", "tensao", "tensoes", "tensiun"),
            *("spanning", "napieci", "voltio", "voltow"),
        ),
        ("spannung", "spanning", "voltage"),
    ),
    RoleWords(
        "date", ("date", "datum", "day", "tag", "fecha", "jour", "dia", "giorno", "dag", "dzien")
    ),
    RoleWords(
        "time",
        (
            *(
                "t",
                "time",
                "moment",
                "clock",
                "uhr",
                "zeit",
                "temps",
                "h",
                "hr",
                "s",
                "sec",
                "min",
                "utc",
            ),
            *("ms", "seg", "sek", "ts", "tiempo", "tempo", "tijd", "tijdstip", "czas", "tid"),
            *("hora", "horas", "ora", "ore", "orario", "uur", "uren", "godz", "godzina"),
            *("godziny", "timme", "timmar", "tidpunkt", "tidsstampel", "klockslag", "duur"),
        ),
        (
            *("timest", "datet", "elaps", "epoch", "unix", "uhrz", "heure", "horod", "duree"),
            *("durat", "duraci", "duraca", "dauer", "zeitst", "zeitp", "laufzeit"),
            *_SPELLED_TIMES,
        ),
    ),
)
# What flows into a battery is not the test.
_INCOMING = re.compile(
    r"charge|charger|charging|solar\w*|pv|alternator\w*|carica|ricarica|recharge|cargando|laden"
    r"|lade(?:strom|leistung|spannung)|laad(?:stroom|vermogen)|ladd(?:nings?)?strom|ladowani\w*"
    r"|charregement|solaire|alternateur|lichtmaschine\w*"
)
# Load or charge, which Spanish and Portuguese call by one word.
_EITHER_WAY = ("carga",)
_OUTGOING = re.compile(
    r"discharg\w*|decharg\w*|descarga\w*|scarica\w*|entlad\w*|entlade\w*|ontla\w*|urladd\w*"
    r"|rozladow\w*"
)
_STATES = (
    {"state", "charge"},
    {"etat", "charge"},
    {"niveau", "charge"},
    {"estado", "carga"},
    {"stato", "carica"},
    {"stan", "naladowania"},
    {"poziom", "naladowania"},
)
# Shares that tell something else than how full a battery is; the depth of discharge is its rest.
_OTHER_SHARES = re.compile(
    r"soh|health|dod|depth|humid\w*|rh|feucht\w*|luftfeucht\w*|humed\w*|umid\w*|vochtig\w*"
    r"|wilgotn\w*|luftfukt\w*|cpu|duty|pwm|signal|wifi"
)
# Words that are joined to the one behind them without a mark: battcurrent, Vbat.
_OWNER = r"batt?|battery|batterie|bateria|akku|accu|pack|fast|slow|load|avg|mean|sys|system|total"
_JOINED_BEHIND = re.compile(
    rf"({_OWNER}|house|bus|dc|discharge)"
    r"(amps?|volts?|voltage|curr|current|temp|temperature|power|soc)"
)
_LETTER_FIRST = re.compile(rf"([uvi])({_OWNER}|dc|out)")
_NO_MARKS = str.maketrans({"º": "°", "˚": "°", "ł": "l", "Ł": "L", "ø": "o", "Ø": "O"})
_SMALL_UNIT = r"(?:[mkuµμ](?:Ah|Wh|A|V|W))"
_STARTS_WITH_UNIT = re.compile(rf"(?<![^\W\d_])({_SMALL_UNIT})(?=[A-Z][a-z])")
# A word that ends with an m keeps it: "StromA" is in A.
_ENDS_WITH_UNIT = re.compile(rf"(?<=[^\W\d_])(?<![Ss]tro)(?<![Ss]troo)({_SMALL_UNIT})(?![^\W\d_])")
_BETWEEN_WORDS = re.compile(r"(?<=[a-z]{2})(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z]{2})")


def plain(text: str) -> str:
    """A text without accents; signs of degrees and of micro stay."""
    parts = unicodedata.normalize("NFKD", text.translate(_NO_MARKS))
    return "".join(part for part in parts if not unicodedata.combining(part))


def words_of(name: str) -> list[str]:
    """The words of a heading, with A·h and W·h as one, and words that were joined apart."""
    joined = re.sub(r"\b(m?[AaWw])\s*[·.*]\s*h\b", r"\1h", plain(name))
    joined = re.sub(r"(?i)\b(amp|watt)(?:ere)?s?[\s_-]*hours?\b", r"\1h", joined)
    joined = _STARTS_WITH_UNIT.sub(r"\1 ", joined)
    joined = _ENDS_WITH_UNIT.sub(r" \1", joined)
    joined = _BETWEEN_WORDS.sub(" ", joined)
    words = []
    for word in re.findall(r"[^\W\d_]+|%|°[cf]?", joined.casefold()):
        both = _JOINED_BEHIND.fullmatch(word) or _LETTER_FIRST.fullmatch(word)
        words += list(both.groups()) if both else [word]
    return words


def role_of_words(words: list[str]) -> str:
    """The quantity that the words name; empty where there is none."""
    for one in ROLE_WORDS:
        if any(one.holds(word) for word in words):
            return one.role
    return ""


def says_state_of_charge(words: list[str]) -> bool:
    """Whether the words are those for how full a battery is."""
    return any(state <= set(words) for state in _STATES)


def other_share(words: list[str]) -> bool:
    """Whether a share is that of something else."""
    return any(_OTHER_SHARES.fullmatch(word) for word in words)


def incoming(words: list[str]) -> list[str]:
    """The words that say that something flows into the battery, where none says out of it."""
    if any(_OUTGOING.fullmatch(word) for word in words):
        return []
    return [word for word in words if _INCOMING.fullmatch(word)]


def may_flow_in(words: list[str]) -> bool:
    """Whether a word may mean a load as well as a charge."""
    return any(word in _EITHER_WAY for word in words) and not says_state_of_charge(words)


def says_discharge(words: list[str]) -> bool:
    """Whether the words say that something flows out of the battery."""
    return any(_OUTGOING.fullmatch(word) for word in words)
