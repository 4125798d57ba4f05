"""What is said of columns that could be meant and were not taken."""

from app.domain.column import ColumnUse
from app.domain.marks import N_
from app.domain.message import say
from app.ingest.columns import fitting_uses
from app.ingest.headings import use_of_heading
from app.ingest.table import Table

_AS_WELL = {
    "current": N_("“{heading}” could be the current as well; it was left out."),
    "voltage": N_("“{heading}” could be the voltage as well; it was left out."),
}
_TWO_UNITS = N_(
    "“{heading}” may be {one} or {other}, which the file does not say; it was left out."
)


def left_out_said(table: Table, uses: tuple[ColumnUse, ...]) -> list[str]:
    """Sentences on columns that could be the current, too, and were not taken."""
    taken = {use.role for use in uses}
    made = []
    for index, (name, use) in enumerate(zip(table.header, uses, strict=True)):
        guessed = use_of_heading(name)
        if use is not ColumnUse.IGNORE or guessed is ColumnUse.IGNORE:
            continue
        if guessed.role in _AS_WELL and guessed.role in taken:
            made.append(say(_AS_WELL[guessed.role], heading=name))
        elif guessed.role in ("temperature", "count", "current") and guessed.role not in taken:
            fitting = fitting_uses(table, index, guessed)
            if len(fitting) > 1:
                one, other = (use.label for use in fitting[:2])
                made.append(say(_TWO_UNITS, heading=name, one=one, other=other))
    return made
