"""Templates in the language of their reader: each is put into it once, when it is first loaded."""

from jinja2 import Environment
from jinja2.ext import Extension

from app.domain.i18n.preferences import Language
from app.languages.catalogue import texts_in
from app.languages.template_text import in_other_words


class _Translated(Extension):
    language: Language

    def preprocess(self, source: str, *_: str | None) -> str:
        known = texts_in(self.language)
        return in_other_words(source, lambda text: known.get(text) or text)


def translated(environment: Environment, language: Language) -> Environment:
    """The same environment for another language, with templates of its own."""
    extension = type(f"In{language.name}", (_Translated,), {"language": language})
    return environment.overlay(extensions=[extension])
