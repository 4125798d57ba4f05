"""Sentences as JSON in a column, so that each reader has them in their language later.

A sentence of the program is kept with its text and its values (`message_as_data`); a string is what
somebody wrote, or was stored before that was done. Archives, files and answers hold the English of
either, so that everybody reads in English what was brought in from an archive.
"""

import json
from collections.abc import Sequence
from typing import Any

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.domain.i18n.message_as_data import from_plain, plain
from app.domain.limits import MAX_LINE_LENGTH

# Columns with sentences, and whether their JSON has been ASCII ever since.
LISTS = {"assumptions": True, "said": False}
LINE = "source"
_BEGIN = '{"text": '


def list_to_json(sentences: Sequence[str], column: str) -> str:
    """Sentences for one of the columns that hold an array of them."""
    return json.dumps([plain(one) for one in sentences], ensure_ascii=LISTS[column])


def list_from_json(text: str) -> tuple[str, ...]:
    """Invert list_to_json. Raises StorageError where the text is damaged."""
    try:
        return _sentences(text)
    except (TypeError, ValueError, RecursionError) as error:
        raise StorageError(
            say("A list of {kind} in the data file is damaged.", kind=say("sentences"))
        ) from error


def are_sentences(text: str) -> bool:
    """Whether the text is an array of sentences as a data file keeps it."""
    try:
        _sentences(text)
    except (TypeError, ValueError, RecursionError):
        return False
    return True


def line_to_text(said: str) -> str:
    """One sentence for a column of one line, which may hold a name that somebody gave as well."""
    kept = plain(said)
    text = kept if isinstance(kept, str) else json.dumps(kept)
    return text if len(text) <= MAX_LINE_LENGTH else str(said)


def line_from_text(text: str) -> str:
    """Invert line_to_text; what is no sentence of the program stays as it is."""
    if not text.startswith(_BEGIN) or len(text) > MAX_LINE_LENGTH:
        return text
    try:
        return from_plain(json.loads(text))
    except (ValueError, RecursionError):
        return text


def in_english(column: str, value: Any) -> Any:
    """What a column holds, with its sentences as the English strings that archives hold."""
    if column == LINE and isinstance(value, str):
        return str(line_from_text(value))
    # An array of strings alone stays to the letter as it was written.
    if column not in LISTS or not isinstance(value, str) or _BEGIN not in value:
        return value
    try:
        return json.dumps(_sentences(value), ensure_ascii=LISTS[column])
    except (TypeError, ValueError, RecursionError):
        return value


def _sentences(text: str) -> tuple[str, ...]:
    found = json.loads(text)
    if not isinstance(found, list):
        raise TypeError(text)
    return tuple(map(from_plain, found))
