"""names that last, photos, the chosen parts of links, settings"""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

IDENTIFIED = ("battery", "meter", "discharge", "event", "run")
# Links made before could not choose: they go on showing what they showed.
SHOWN_BEFORE = "fade,end_of_life,tests,events"


def upgrade() -> None:
    op.create_table(
        "setting",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", sa.String(4000), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_setting")),
    )
    _create_photo()
    _create_share_beside()
    for table in IDENTIFIED:
        _add_filled(table, "uid", sa.String(32), lambda: secrets.token_hex(16))
        with op.batch_alter_table(table) as batch:
            batch.create_unique_constraint(op.f(f"uq_{table}_uid"), ["uid"])
    _add_filled("event", "version", sa.Integer(), lambda: 1)
    _add_filled("file_shape", "layout", sa.String(200), lambda: "")
    _add_filled("share", "shows", sa.String(200), lambda: SHOWN_BEFORE)
    _add_filled("share", "views", sa.Integer(), lambda: 0)
    with op.batch_alter_table("share") as batch:
        batch.add_column(sa.Column("viewed_at", sa.DateTime(timezone=True), nullable=True))
        batch.add_column(sa.Column("discharge_id", sa.Integer(), nullable=True))
        batch.create_index(op.f("ix_share_discharge_id"), ["discharge_id"], unique=False)
        batch.create_foreign_key(
            op.f("fk_share_discharge_id_discharge"), "discharge", ["discharge_id"], ["id"]
        )


def _add_filled(table, name, kind, make) -> None:
    """Add a column that must not be empty, with a value made for each row."""
    with op.batch_alter_table(table) as batch:
        batch.add_column(sa.Column(name, kind, nullable=True))
    rows = sa.table(table, sa.column("id"), sa.column(name))
    connection = op.get_bind()
    for (row_id,) in connection.execute(sa.select(rows.c.id)).all():
        values = {name: make()}
        connection.execute(sa.update(rows).where(rows.c.id == row_id).values(values))
    with op.batch_alter_table(table) as batch:
        batch.alter_column(name, existing_type=kind, nullable=False)


def _create_photo() -> None:
    op.create_table(
        "photo",
        sa.Column("uid", sa.String(32), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("discharge_id", sa.Integer(), nullable=False),
        sa.Column("caption", sa.String(200), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("jpeg", sa.LargeBinary(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["discharge_id"], ["discharge.id"], name=op.f("fk_photo_discharge_id_discharge")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
        sa.UniqueConstraint("uid", name=op.f("uq_photo_uid")),
    )
    op.create_index(op.f("ix_photo_deleted_at"), "photo", ["deleted_at"], unique=False)
    op.create_index(op.f("ix_photo_discharge_id"), "photo", ["discharge_id"], unique=False)


def _create_share_beside() -> None:
    op.create_table(
        "share_beside",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("share_id", sa.Integer(), nullable=False),
        sa.Column("battery_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["battery_id"], ["battery.id"], name=op.f("fk_share_beside_battery_id_battery")
        ),
        sa.ForeignKeyConstraint(
            ["share_id"], ["share.id"], name=op.f("fk_share_beside_share_id_share")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_share_beside")),
    )
    op.create_index(op.f("ix_share_beside_battery_id"), "share_beside", ["battery_id"])
    op.create_index(
        "uq_share_beside_battery", "share_beside", ["share_id", "battery_id"], unique=True
    )


def downgrade() -> None:
    with op.batch_alter_table("share") as batch:
        batch.drop_constraint(op.f("fk_share_discharge_id_discharge"), type_="foreignkey")
        batch.drop_index(op.f("ix_share_discharge_id"))
        for name in ("viewed_at", "views", "shows", "discharge_id"):
            batch.drop_column(name)
    with op.batch_alter_table("file_shape") as batch:
        batch.drop_column("layout")
    with op.batch_alter_table("event") as batch:
        batch.drop_column("version")
    for table in IDENTIFIED:
        with op.batch_alter_table(table) as batch:
            batch.drop_constraint(op.f(f"uq_{table}_uid"), type_="unique")
            batch.drop_column("uid")
    for table in ("share_beside", "photo", "setting"):
        op.drop_table(table)
