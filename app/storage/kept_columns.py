"""What the program keeps for itself is in the records, column by column."""

from app.domain.marks import N_
from app.storage.common_columns import ID, WHOLE
from app.storage.described import Column, Table
from app.storage.text_rules import HASH, LAYOUT, TABLE_NAME, USES

SETTING = Table(
    N_("Settings"),
    N_("Setting"),
    "What the owner set for the whole program. Where backups go belongs to a machine and is "
    "left out.",
    {
        "name": Column(N_("Name"), "", "Name of the setting."),
        "value": Column(N_("Value"), "", "What it is set to."),
    },
    identity=("name",),
)
FILE_SHAPE = Table(
    N_("Known files"),
    N_("Known file"),
    "What the columns of a battery's files with the same headings were taken for, the last time.",
    {
        "id": ID,
        "headings_hash": Column(
            N_("Headings' SHA-256"),
            "",
            "SHA-256 of the battery's lasting name and the headings in the file.",
            HASH,
        ),
        "uses": Column(N_("Uses"), "", "What each column was taken for, in order.", USES),
        "layout": Column(
            N_("Layout"),
            "",
            "Delimiter, decimal mark and order of dates that the owner chose, as JSON.",
            LAYOUT,
        ),
    },
    identity=("headings_hash",),
    label="headings_hash",
)
REVISION = Table(
    N_("Replaced rows"),
    N_("Replaced row"),
    "What edits replaced: the whole row as it was before.",
    {
        "id": ID,
        "thing": Column(N_("Table"), "", "The table of the row that was replaced.", TABLE_NAME),
        "thing_id": Column(N_("Row"), "", "Number of that row in its table.", WHOLE),
        "version": Column(N_("Version"), "1", "Version of the row that was replaced.", WHOLE),
        "replaced_at": Column(N_("Replaced"), "", "When it was replaced, in UTC."),
        "before": Column(
            N_("Row before"),
            "",
            "The whole row as it was. Readings stand in a file of their own, which is named.",
        ),
    },
    identity=("thing", "thing_id", "version", "replaced_at"),
    label="replaced_at",
)
