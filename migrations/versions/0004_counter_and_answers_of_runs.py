"""what a counter showed and what was meant in the readings of a running test"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("run_reading") as batch:
        batch.add_column(sa.Column("counted_ah", sa.Float(), nullable=True))
        # Nobody was asked so far.
        batch.add_column(
            sa.Column("meant", sa.Boolean(), nullable=False, server_default=sa.false())
        )
    with op.batch_alter_table("run_reading") as batch:
        batch.alter_column("meant", existing_type=sa.Boolean(), server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("run_reading") as batch:
        batch.drop_column("meant")
        batch.drop_column("counted_ah")
