"""What was computed of the records, and whether it still holds: no records themselves.

They stand in tables of their own metadata, so nothing that goes through the tables of the records
(archives, a restore, the check of a data file, the bin) can ever meet them.
"""

import sqlalchemy as sa

from app.storage.schema.table_base import metadata

computed_metadata = sa.MetaData(naming_convention=metadata.naming_convention)
# One row for each part of a battery's answers, which the next one replaces. key is what it was made
# of; a row whose key is not the one that is asked for is as good as none.
COMPUTED = sa.Table(
    "computed",
    computed_metadata,
    sa.Column("battery_id", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("part", sa.String(20), primary_key=True),
    sa.Column("key", sa.String(64), nullable=False),
    # Compressed JSON.
    sa.Column("content", sa.LargeBinary, nullable=False),
)
# A stamp for each battery and for what bears on all of them, drawn anew with every change of a row
# that their answers are made of (`change_triggers`).
CHANGE_STAMP = sa.Table(
    "change_stamp",
    computed_metadata,
    sa.Column("owner", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("stamp", sa.String(36), nullable=False),
)
