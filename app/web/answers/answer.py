"""How an answer of the interface is made of what the program computed."""

from pydantic import BaseModel, ConfigDict


class Answer(BaseModel):
    """One kind of thing in an answer.

    Its names are promised to clients and frozen by tests/frozen. A name that changes inside the
    program is given here as the validation_alias of the field. A text below a field says what it
    means, where name and kind of thing do not; it goes into the OpenAPI document.
    """

    model_config = ConfigDict(from_attributes=True, use_attribute_docstrings=True)
