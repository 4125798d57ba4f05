"""How an answer of the interface is made of what the program computed."""

import ast
import inspect
from textwrap import dedent
from typing import Any

from pydantic import BaseModel, ConfigDict, GetJsonSchemaHandler


class Answer(BaseModel):
    """One kind of thing in an answer.

    Its names are promised to clients and frozen by tests/frozen. A name that changes inside the
    program is given here as the validation_alias of the field. A text below a field says what it
    means, where name and kind of thing do not; it goes into the OpenAPI document.
    """

    # What checks and writes an answer is built when one is first asked for.
    model_config = ConfigDict(from_attributes=True, defer_build=True)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: Any, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Its part of the OpenAPI document, with the texts below the fields.

        The library's own use_attribute_docstrings reads the source of every answer at every start,
        a twentieth of it; the document is seldom asked for.
        """
        schema = handler(core_schema)
        described = handler.resolve_ref_schema(schema).get("properties", {})
        for kind in cls.__mro__:
            if kind is not Answer and issubclass(kind, Answer):
                for name, text in _texts_below_fields(kind).items():
                    described.get(name, {}).setdefault("description", text)
        return schema


def _texts_below_fields(kind: type) -> dict[str, str]:
    (declared,) = ast.parse(dedent(inspect.getsource(kind))).body
    assert isinstance(declared, ast.ClassDef)
    texts = {}
    for field, below in zip(declared.body, declared.body[1:], strict=False):
        match field, below:
            case (
                ast.AnnAssign(target=ast.Name(id=name)),
                ast.Expr(value=ast.Constant(value=str(text))),
            ):
                texts[name] = inspect.cleandoc(text)
    return texts
