"""How commands fail: with one sentence, and never with a trace."""

from collections.abc import Iterator
from contextlib import contextmanager

import typer

from app.domain.errors import FadelineError
from app.server.terminal import echo


@contextmanager
def failing_in_one_sentence() -> Iterator[None]:
    """Exit with 1 and one sentence on stderr for every error that is meant for the user."""
    try:
        yield
    except FadelineError as error:
        echo(f"fadeline: {error}", err=True)
        raise typer.Exit(1) from None
