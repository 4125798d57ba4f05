"""Bring the catalogues up to date with the texts of code and templates.

    python -m tests.gather_texts

New texts are added without a translation, those that nobody says any more go, all else stays.
"""

from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import write_po
from jinja2.ext import extract_from_ast

from app.domain.preferences import Language
from app.languages.catalogue import file_of, read_catalogue
from app.languages.template_text import texts_of
from app.settings import TEMPLATES
from app.web.pages import templates

APP = Path(__file__).parent.parent / "app"
_KEYWORDS = {"say": None, "noted": None}


def said_texts() -> dict[str, list[str]]:
    """Every English text that a page can show, with the files in which it stands."""
    found: dict[str, list[str]] = {}
    for file, text in [*_of_code(), *_of_templates()]:
        files = found.setdefault(text, [])
        if file not in files:
            files.append(file)
    return found


def _of_code() -> Iterator[tuple[str, str]]:
    for path in sorted(APP.rglob("*.py")):
        with path.open("rb") as opened:
            for _, text, _, _ in extract("python", opened, keywords=_KEYWORDS):
                yield str(path.relative_to(APP.parent)), _one(text)


def _of_templates() -> Iterator[tuple[str, str]]:
    for path in sorted(TEMPLATES.rglob("*.html")):
        file, source = f"templates/{path.relative_to(TEMPLATES)}", path.read_text()
        for text in texts_of(source):
            yield file, text
        parsed = templates.env.parse(source)
        for _, _, text in extract_from_ast(parsed, tuple(_KEYWORDS)):
            yield file, _one(text)


def _one(text: object) -> str:
    """The first of what a call was given: the rest are values."""
    first = text[0] if isinstance(text, tuple) else text
    return str(first)


def gathered(language: Language) -> Catalog:
    """The catalogue of all texts, with the translations that there are."""
    before, after = read_catalogue(language), Catalog(locale=language.value)
    for text, files in said_texts().items():
        known = before.get(text)
        string = known.string if known is not None else ""
        after.add(text, string, locations=[(file, 0) for file in files]).flags.clear()
    return after


def main() -> None:
    for language in (Language.GERMAN,):
        made = gathered(language)
        with file_of(language).open("wb") as opened:
            write_po(opened, made, omit_header=True, include_lineno=False, width=100)
        missing = sum(1 for one in made if one.id and not one.string)
        print(f"{language.value}: {len(made)} texts, {missing} without a translation")


if __name__ == "__main__":
    main()
