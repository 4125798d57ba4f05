"""what was computed, kept beside the records"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "computed",
        sa.Column("battery_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("part", sa.String(20), nullable=False),
        sa.Column("key", sa.String(64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("battery_id", "part", name=op.f("pk_computed")),
    )


def downgrade() -> None:
    op.drop_table("computed")
