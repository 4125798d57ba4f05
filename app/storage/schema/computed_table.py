"""What was computed of the records, so that it need not be computed anew after a start.

It is no record: it stands in tables of its own metadata, so nothing that goes through the tables of
the records (archives, a restore, the check of a data file, the bin) can ever meet it.
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
