"""What a field of a thing is, said once: where the field stands.

The fields of BatteryDetails and its like carry a Described in their annotation. Columns of the
records with their check, what forms read and show, the words of a history and what a file to send
carries are all made of it. A field without one has a column and a form of its own kind.
"""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Any, get_args, get_origin, get_type_hints

from app.domain.i18n.message import say
from app.domain.quantity import Quantity

if TYPE_CHECKING:
    from _typeshed import DataclassInstance


@dataclass(frozen=True)
class Described:
    """What a type does not say of a field.

    title is what records, the history and, unless it says otherwise, the form call it; description
    is a sentence for the records. A number has a quantity, which is typed in its unit; a share is
    stored as a fraction, and its quantity is in percent. unit is that of its column where it is
    another than the quantity's. A text has so many characters at most.

    called is what a refusal calls it, where that is neither the quantity's name nor the title.
    asked is False where no form asks for it, or one by code of its own. computed says that the
    program finds the number, too, and then keeps to no range. sent says that a file to send carries
    it: without that it stays at home. added_later says that archives of earlier versions lack it;
    its default is what it was then.
    """

    title: str
    description: str
    quantity: Quantity | None = None
    longest: int = 0
    unit: str = ""
    called: str = ""
    asked: bool = True
    computed: bool = False
    sent: bool = False
    added_later: bool = False


@dataclass(frozen=True)
class DescribedField:
    """A field with its description; kind is its type, optional says that it may be None."""

    name: str
    kind: Any
    optional: bool
    default: Any
    told: Described

    @property
    def is_share(self) -> bool:
        """Whether it is a fraction that people know as a percentage."""
        return self.name.endswith("_share")

    @property
    def typed_as(self) -> str:
        """Its name in a form: names carry their unit, and a share is typed in percent."""
        return self.name.removesuffix("_share") + "_percent" if self.is_share else self.name

    @property
    def is_needed(self) -> bool:
        """Whether there is no thing without it."""
        return self.default is MISSING

    @property
    def label(self) -> str:
        return say(self.told.title)

    @property
    def called(self) -> str:
        """What a refusal calls it."""
        quantity = self.told.quantity
        return say(self.told.called or (quantity.name if quantity else self.told.title))


@cache
def described_fields(thing: "type[DataclassInstance]") -> Mapping[str, DescribedField]:
    """The described fields of a dataclass by name, in its order."""
    hints = get_type_hints(thing, include_extras=True)
    found = {}
    for field in fields(thing):
        hint = hints[field.name]
        if get_origin(hint) is Annotated:
            kind, told = get_args(hint)
            plain, optional = without_none(kind)
            found[field.name] = DescribedField(field.name, plain, optional, field.default, told)
    return found


def without_none(kind: Any) -> tuple[Any, bool]:
    """A type without the None that it may be, and whether it may be that."""
    if get_origin(kind) is not UnionType:
        return kind, False
    (plain,) = (one for one in get_args(kind) if one is not type(None))
    return plain, True
