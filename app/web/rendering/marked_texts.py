"""The texts that templates mark for translation, as one reader reads them."""

from collections.abc import Mapping

from markupsafe import Markup, escape

from app.domain.i18n.message import Reader


class MarkedTexts:
    """What the i18n extension of templates calls for `trans` blocks and `_`.

    Its own way to put values in would show the English of a message, and numbers without the
    reader's decimal sign.
    """

    def __init__(self, reader: Reader) -> None:
        self._reader = reader

    def gettext(self, text: str, /, **values: object) -> Markup:
        """A text with its values; it is markup of ours, they are escaped."""
        return self._filled(self._reader.text(text), values)

    def pgettext(self, context: str, text: str, /, **values: object) -> Markup:
        """A text that is said otherwise where it is, for instance, a button."""
        return self._filled(self._reader.catalogue.pgettext(context, text), values)

    def ngettext(self, one: str, many: str, count: float, /, **values: object) -> Markup:
        """The form of a text that so many take."""
        return self._filled(self._reader.plural(one, many, count), {"num": count, **values})

    def _filled(self, text: str, values: Mapping[str, object]) -> Markup:
        read = self._reader.read
        shown = {name: escape(read(value)) for name, value in values.items()}
        return Markup(text % shown)  # noqa: S704
