"""Something in a data file that is not as it was stored, and what the owner can do."""

from dataclasses import dataclass

from app.domain.i18n.message import joined


@dataclass(frozen=True)
class IntegrityIssue:
    """Where it lies, what is wrong, what to do; each a phrase that a page or window can print."""

    where: str
    what: str
    todo: str

    @property
    def sentence(self) -> str:
        return joined("", (self.where, ": ", self.what, "."))
