"""Options that take a number: read as a form reads it, refused with the value and the range."""

from typing import Any

import typer

from app.domain.errors import InvalidInput
from app.domain.quantity import Quantity


def number_option(quantity: Quantity, words: str, metavar: str = "X") -> Any:
    """An option for a number of a quantity, with or without its unit; any other is wrong usage."""

    def read(text: str) -> float:
        try:
            return quantity.parse(str(text))
        except InvalidInput as refused:
            raise typer.BadParameter(refused.words) from None

    return typer.Option(help=words, metavar=metavar, parser=read)
