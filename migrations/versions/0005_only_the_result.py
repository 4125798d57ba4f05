"""tests of which only the result was noted, and tests that came in together"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

NOTED = (
    "counted_ah",
    "counted_wh",
    "mean_voltage_v",
    "duration_h",
    "mean_current_a",
    "last_voltage_v",
)


def upgrade() -> None:
    with op.batch_alter_table("discharge") as batch:
        for name in NOTED:
            batch.add_column(sa.Column(name, sa.Float(), nullable=True))
        # Every test so far came in alone.
        batch.add_column(sa.Column("import_uid", sa.String(32), nullable=False, server_default=""))
    with op.batch_alter_table("discharge") as batch:
        batch.alter_column("import_uid", existing_type=sa.String(32), server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("discharge") as batch:
        batch.drop_column("import_uid")
        for name in reversed(NOTED):
            batch.drop_column(name)
