"""What bringing an archive into the records came to, or would come to."""

from dataclasses import dataclass

from app.domain.i18n.message import joined, say


@dataclass(frozen=True)
class Difference:
    """One field that differs: its title, what is here and what the archive says."""

    field: str
    here: str
    in_archive: str


@dataclass(frozen=True)
class Conflict:
    """A thing of the archive that is not taken, because what is here differs and stays."""

    thing: str
    name: str
    words: str
    differences: tuple[Difference, ...] = ()

    @property
    def sentence(self) -> str:
        fields = joined(
            "; ",
            [
                say(
                    "{field}: here {here}, in the archive {in_archive}",
                    field=one.field,
                    here=one.here,
                    in_archive=one.in_archive,
                )
                for one in self.differences
            ],
        )
        about = {"thing": self.thing, "name": self.name, "words": self.words}
        if not fields:
            return say("{thing} “{name}”: {words}.", **about)
        return say("{thing} “{name}”: {words} ({fields}).", **about, fields=fields)


@dataclass(frozen=True)
class TableCount:
    """How many rows of one table are new, there already, there with other content, left out.

    Left out are rows that belong to a thing that is not taken.
    """

    title: str
    new: int = 0
    same: int = 0
    differing: int = 0
    left_out: int = 0

    @property
    def total(self) -> int:
        return self.new + self.same + self.differing + self.left_out


@dataclass(frozen=True)
class MergeReport:
    """Counts by table and every conflict. was_empty: nothing was there before.

    changed says, a sentence each, what comes in otherwise than it stands in the archive.
    """

    was_empty: bool
    counts: tuple[TableCount, ...]
    conflicts: tuple[Conflict, ...]
    changed: tuple[str, ...] = ()

    @property
    def new(self) -> int:
        return sum(count.new for count in self.counts)
