"""What words of a table say of how a test began, how it ended and what it proved."""

import re

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.past_tests.answers import Choice
from app.domain.past_tests.columns import PastColumn
from app.ingest.wording.heading_words import plain

_PERCENT = re.compile(r"(\d{1,3})(?:[.,]\d+)?\s*%")
_UNKNOWN = re.compile(r"\?+|unknown|not known|don'?t know|unbekannt|nicht bekannt|weiss nicht")
_NOT_FULL = re.compile(
    r"\b(not|nicht|non|no|pas|niet|nao|nie|ej|inte|partly|partially|partial|teilweise|teilgeladen"
    r"|half|halb|almost|fast|nearly|presque)\b"
)
_FULL = re.compile(r"\b(fully?|voll\w*|plein\w*|llen[oa]|pien[oa]|vol|cheia?|peln\w*|fulladdat)\b")
_RESTED = re.compile(r"\b(rest(ed|ing)?|geruht|ruhe\w*|pause|repos\w*|reposo|riposo|rust)\b")
_YES = re.compile(r"yes|y|ja|j|oui|si|sim|tak|x|ok|true|[✓✔☑]")
_NO = re.compile(r"n|nein|nee|false|-")
_ENDS = {
    EndReason.PROTECTION: re.compile(
        r"\b(bms|protection|protect\w*|schutz\w*|batterieschutz|proteccion|protezione|ochrona)\b"
    ),
    EndReason.CUT_OFF_VOLTAGE: re.compile(
        r"voltage|spannung|tension\b|tensione|spanning\b|napieci|tensao"
        r"|\b(cut-?off|lvd|entladeschluss)\b"
        r"|^[\d.,]+ ?(v|volts?)$"
    ),
    EndReason.GAUGE_RESERVE: re.compile(r"\b(gauge|reserve|soc)\b|^\d{1,2} ?%$"),
    EndReason.TIME: re.compile(
        r"\b(time|time ?out|zeit|zeitablauf|temps|tiempo|tempo|tijd|czas|tid)\b"
    ),
    EndReason.LOAD: re.compile(
        r"\b(inverter|wechselrichter|load|last|verbraucher|onduleur|inversor|omvormer)\b"
    ),
}
# Of an end, or of being broken off, wherever it stands.
_OF_END = re.compile(
    r"abgebroch|abbr[eu]ch|abgeschalt|abschalt|ausgeschalt|unterbroch|vorzeitig|\bbeendet"
    r"|abort|interrupt|broken off|cut short|cut-? ?(?:out|off)\b|\bstopped\b|\bended\b"
    r"|\b(?:switched|turned|shut)(?: itself)? off\b|shut ?down"
)
# Beside the name of an end, these say that it did not come to it.
_DENIED = re.compile(
    r"\b(not|no|without|before|aborted|interrupted|nicht|kein\w*|ohne|vor|abgebrochen"
    r"|unterbrochen|vorzeitig)\b"
)
_MEASURED = re.compile(
    r"measured|measurement|gemessen|messung|full test|complete|voll(st.ndig)?|ok|good|valid|gut"
    r"|mesur\w*|medid[ao]|misurat[ao]|gemeten|zmierzon\w*|matt"
)
_AT_LEAST = re.compile(
    r"at least|lower bound|minimum|min\.?|mind(estens)?\.?|untergrenze|>=?|≥|au moins|al menos"
    r"|almeno|minstens|pelo menos|co najmniej|minst|partial|incomplete|teilweise|nicht leer"
)
_INVALID = re.compile(
    r"invalid|unusable|void|aborted|discard\w*|bad|wrong|ung.ltig|unbrauchbar|abgebrochen"
    r"|verworfen|falsch|fehler|error|no good"
)
MEASURED, AT_LEAST, INVALID = "measured", "at_least", "invalid"
CHOICES = {
    PastColumn.CHARGE: tuple(Choice(one.value, one.label) for one in ChargeCondition),
    PastColumn.END: tuple(Choice(one.value, one.label) for one in EndReason),
}


def charge_of(cell: str, *, asks_full: bool = False) -> ChargeCondition | None:
    """How a battery was charged; None where the words do not tell.

    asks_full says that the heading asks whether it was full, so that yes and no answer it.
    """
    text = _plain(cell)
    if _UNKNOWN.fullmatch(text):
        return ChargeCondition.UNKNOWN
    if found := _PERCENT.fullmatch(text):
        return ChargeCondition.FULL if int(found[1]) >= 100 else ChargeCondition.NOT_FULL
    if asks_full and _YES.fullmatch(text):
        return ChargeCondition.FULL
    if asks_full and (_NO.fullmatch(text) or text == "no"):
        return ChargeCondition.NOT_FULL
    if not _FULL.search(text):
        return None
    if _NOT_FULL.search(text):
        # "Full, not rested" is full: what is denied must stand before it.
        before = text[: _FULL.search(text).start()]  # type: ignore[union-attr]
        return ChargeCondition.NOT_FULL if _NOT_FULL.search(before) else ChargeCondition.FULL
    return ChargeCondition.FULL_RESTED if _RESTED.search(text) else ChargeCondition.FULL


def end_of(cell: str) -> EndReason | None:
    """Why a test ended; None where the words do not tell, tell two things, or deny that."""
    text = _plain(cell)
    if _UNKNOWN.fullmatch(text):
        return EndReason.UNKNOWN
    found = [reason for reason, words in _ENDS.items() if words.search(text)]
    if len(found) != 1 or (found[0].claims_empty and _DENIED.search(text)):
        return None
    return found[0]


def speaks_of_end(note: str) -> bool:
    """Whether a note has a word of how the test ended, or that it was broken off."""
    return _OF_END.search(_plain(note)) is not None


def kind_of(cell: str) -> str:
    """What its owner says a test proved; empty where the words do not tell."""
    text = _plain(cell)
    for kind, words in ((INVALID, _INVALID), (AT_LEAST, _AT_LEAST), (MEASURED, _MEASURED)):
        if words.fullmatch(text):
            return kind
    return ""


def _plain(cell: str) -> str:
    return " ".join(plain(cell).casefold().split())
