"""The mark of a text that is put into the reader's language where it is shown."""


def N_(text: str) -> str:  # noqa: N802
    """The text itself, for the catalogue to find: `say` it where it is shown."""
    return text


def N_plural(one: str, many: str) -> tuple[str, str]:  # noqa: N802
    """A text with its form for one and for many, for the catalogue to find; `say_plural` it."""
    return one, many
