"""What is said of columns that could be meant and were not taken."""

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.units.column import ColumnUse
from app.ingest.column_inference import fitting_uses
from app.ingest.dialect import CellTable
from app.ingest.headings import cell_voltages, use_of_heading

_AS_WELL = {
    "current": N_("“{heading}” could be the current as well; it was left out."),
    "voltage": N_("“{heading}” could be the voltage as well; it was left out."),
}
_TWO_UNITS = N_(
    "“{heading}” may be {one} or {other}, which the file does not say; it was left out."
)
_CELLS_ALONE = N_(
    "{count} columns of cell voltages were left out, “{heading}” first: none of them is the "
    "battery's voltage. To use their sum, put it into a column."
)


def left_out_said(table: CellTable, uses: tuple[ColumnUse, ...]) -> list[str]:
    """Sentences on columns that could be the current, too, and were not taken."""
    taken = {use.role for use in uses}
    cells = cell_voltages(table.header)
    made = []
    if cells and "voltage" not in taken:
        made.append(say(_CELLS_ALONE, heading=table.header[cells[0]], count=len(cells)))
    for index, (name, use) in enumerate(zip(table.header, uses, strict=True)):
        guessed = use_of_heading(name)
        if use is not ColumnUse.IGNORE or guessed is ColumnUse.IGNORE or index in cells:
            continue
        if guessed.role in _AS_WELL and guessed.role in taken:
            made.append(say(_AS_WELL[guessed.role], heading=name))
        elif guessed.role in ("temperature", "count", "current") and guessed.role not in taken:
            fitting = fitting_uses(table, index, guessed)
            if len(fitting) > 1:
                one, other = (use.label for use in fitting[:2])
                made.append(say(_TWO_UNITS, heading=name, one=one, other=other))
    return made
