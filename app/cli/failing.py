"""How commands fail: with one sentence, and never with a trace."""

from collections.abc import Iterator
from contextlib import contextmanager

import typer

from app.domain.errors import FadelineError
from app.server.terminal import echo


@contextmanager
def failing_in_one_sentence() -> Iterator[None]:
    """Exit with 1 and one sentence on stderr for what is meant for the user, and for a file."""
    try:
        yield
    except FadelineError as error:
        echo(f"fadeline: {error}", err=True)
    except OSError as error:
        echo(f"fadeline: “{error.filename}” cannot be used ({error.strerror}).", err=True)
    else:
        return
    raise typer.Exit(1)
