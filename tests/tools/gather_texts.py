"""Bring the catalogues up to date with the texts of code and templates.

    python -m tests.tools.gather_texts

New texts are added without a translation, those that nobody says any more go, all else stays.
"""

import ast
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po
from jinja2.ext import extract_from_ast

from app.analysis.corrections import coefficients
from app.domain.i18n.preferences import Language
from app.languages.catalogue import file_of, read_catalogue
from app.languages.template_text import texts_of
from app.settings import TEMPLATES
from app.web.rendering.rendering import environment

APP = Path(__file__).parents[2] / "app"
_KEYWORDS = ("say", "N_")
# A file to send is the same for everybody, and compared word for word.
_ALWAYS_ENGLISH = TEMPLATES / "battery_file.html"


def said_texts() -> dict[str, list[str]]:
    """Every English text that a page can show, with the files in which it stands."""
    found: dict[str, list[str]] = {}
    for file, text in [*_of_code(), *_of_templates(), *_of_data()]:
        files = found.setdefault(text, [])
        if file not in files:
            files.append(file)
    return found


def _of_code() -> Iterator[tuple[str, str]]:
    for path in sorted(APP.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and node.args and _called(node) in _KEYWORDS:
                text = node.args[0]
                # What is said may be a value that is noted elsewhere.
                if isinstance(text, ast.Constant):
                    yield str(path.relative_to(APP.parent)), str(text.value)


def _called(call: ast.Call) -> str:
    return call.func.id if isinstance(call.func, ast.Name) else ""


def _of_templates() -> Iterator[tuple[str, str]]:
    for path in sorted({*TEMPLATES.rglob("*.html")} - {_ALWAYS_ENGLISH}):
        file, source = f"templates/{path.relative_to(TEMPLATES)}", path.read_text()
        for text in texts_of(source):
            yield file, text
        parsed = environment.parse(source)
        for _, _, text in extract_from_ast(parsed, _KEYWORDS):
            # The first of what a call was given: the rest are values.
            first = text[0] if isinstance(text, tuple) else text
            if first is not None:
                yield file, str(first)


def _of_data() -> Iterator[tuple[str, str]]:
    for text in coefficients.sources():
        yield "app/data/coefficients.json", text


def gathered(language: Language) -> Catalog:
    """The catalogue of all texts, with the translations that there are."""
    before, after = read_catalogue(language), Catalog(locale=language.value)
    for text, files in said_texts().items():
        known = before.get(text)
        string = known.string if known is not None else ""
        after.add(text, string, locations=[(file, 0) for file in files]).flags.clear()
    return after


def written(catalogue: Catalog) -> bytes:
    """The catalogue as its file."""
    made = BytesIO()
    write_po(made, catalogue, omit_header=True, include_lineno=False, width=100)
    return made.getvalue()


def main() -> None:
    for language in (Language.GERMAN,):
        made = gathered(language)
        file_of(language).write_bytes(written(made))
        missing = sum(1 for one in made if one.id and not one.string)
        print(f"{language.value}: {len(made)} texts, {missing} without a translation")


if __name__ == "__main__":
    main()
