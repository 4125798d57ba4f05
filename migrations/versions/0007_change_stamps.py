"""whether what was computed still holds: a stamp for each battery"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

WATCHED = (
    "battery",
    "discharge",
    "event",
    "stay",
    "meter",
    "place",
    "temperature_log",
    "temperature_day",
)


def upgrade() -> None:
    # The program makes the triggers that write it, after every migration.
    op.create_table(
        "change_stamp",
        sa.Column("owner", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("stamp", sa.String(36), nullable=False),
        sa.PrimaryKeyConstraint("owner", name=op.f("pk_change_stamp")),
    )


def downgrade() -> None:
    on_file = op.get_bind().dialect.name == "sqlite"
    for table in WATCHED:
        for event in ("insert", "update", "delete"):
            name = f"stamp_{table}_{event}"
            drop = (
                f"TRIGGER IF EXISTS {name}" if on_file else f"FUNCTION IF EXISTS {name}() CASCADE"
            )
            op.execute(f"DROP {drop}")
    op.drop_table("change_stamp")
