"""One order of texts in every database, whatever the language that a server was set up in."""

from typing import Any

from sqlalchemy import FunctionElement
from sqlalchemy.ext.compiler import compiles


class in_byte_order(FunctionElement[Any]):  # noqa: N801
    """The order of a data file: by the bytes of UTF-8, which is that of the letters' numbers."""

    inherit_cache = True


@compiles(in_byte_order)
def _as_it_is(element: in_byte_order, compiler: Any, **named: Any) -> str:
    return str(compiler.process(element.clauses, **named))


@compiles(in_byte_order, "postgresql")
def _collated(element: in_byte_order, compiler: Any, **named: Any) -> str:
    return f'{compiler.process(element.clauses, **named)} COLLATE "C"'
