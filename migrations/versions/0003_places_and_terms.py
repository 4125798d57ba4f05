"""places with their temperatures, terms of the warranty, use on the road"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


# What an owner who was never asked would have answered.
FILLED = {
    "currency": (sa.String(8), ""),
    "waits_at_low_share": (sa.Float(), "0.5"),
    "waits_at_high_share": (sa.Float(), "1.0"),
    "appliances": (sa.String(), "[]"),
}
EMPTY = {
    "warranty_from": sa.Date(),
    "warranty_years": sa.Float(),
    "warranty_share": sa.Float(),
    "warranty_cycles": sa.Float(),
    "drawn_ah_a_week": sa.Float(),
    "full_discharges_a_year": sa.Float(),
    "charge_ah_a_day": sa.Float(),
    "cold_week_c": sa.Float(),
}


def upgrade() -> None:
    with op.batch_alter_table("battery") as batch:
        for name, (kind, value) in FILLED.items():
            batch.add_column(sa.Column(name, kind, nullable=False, server_default=value))
        for name, kind in EMPTY.items():
            batch.add_column(sa.Column(name, kind, nullable=True))
    with op.batch_alter_table("battery") as batch:
        for name, (kind, _) in FILLED.items():
            batch.alter_column(name, existing_type=kind, server_default=None)
    _create_place()
    _create_stay()
    _create_temperatures()


def _identified(*columns: sa.Column) -> list[sa.Column]:
    return [
        sa.Column("uid", sa.String(32), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        *columns,
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("deleted_at", sa.DateTime(timezone=True), nullable=True),
    ]


def _create_place() -> None:
    op.create_table(
        "place",
        *_identified(
            sa.Column("name", sa.String(80), nullable=False),
            sa.Column("note", sa.String(400), nullable=False),
            sa.Column("seasons", sa.String(), nullable=False),
            sa.Column("hours", sa.String(), nullable=False),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_place")),
        sa.UniqueConstraint("uid", name=op.f("uq_place_uid")),
    )
    op.create_index(op.f("ix_place_deleted_at"), "place", ["deleted_at"])


def _create_stay() -> None:
    op.create_table(
        "stay",
        *_identified(
            sa.Column("battery_id", sa.Integer(), nullable=False),
            sa.Column("place_id", sa.Integer(), nullable=False),
            sa.Column("from_date", sa.Date(), nullable=False),
        ),
        sa.ForeignKeyConstraint(
            ["battery_id"], ["battery.id"], name=op.f("fk_stay_battery_id_battery")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_stay_place_id_place")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stay")),
        sa.UniqueConstraint("uid", name=op.f("uq_stay_uid")),
    )
    for column in ("battery_id", "deleted_at", "place_id"):
        op.create_index(op.f(f"ix_stay_{column}"), "stay", [column])
    op.create_index(
        "uq_stay_battery_day",
        "stay",
        ["battery_id", "from_date"],
        unique=True,
        sqlite_where=sa.text("deleted_at IS NULL"),
        postgresql_where=sa.text("deleted_at IS NULL"),
    )


def _create_temperatures() -> None:
    op.create_table(
        "temperature_log",
        *_identified(
            sa.Column("place_id", sa.Integer(), nullable=False),
            sa.Column("source", sa.String(200), nullable=False),
            sa.Column("said", sa.String(), nullable=False),
            sa.Column("gives_way", sa.Boolean(), nullable=False),
            sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        ),
        sa.ForeignKeyConstraint(
            ["place_id"], ["place.id"], name=op.f("fk_temperature_log_place_id_place")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_temperature_log")),
        sa.UniqueConstraint("uid", name=op.f("uq_temperature_log_uid")),
    )
    for column in ("deleted_at", "place_id"):
        op.create_index(op.f(f"ix_temperature_log_{column}"), "temperature_log", [column])
    op.create_table(
        "temperature_day",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("log_id", sa.Integer(), nullable=False),
        sa.Column("on_date", sa.Date(), nullable=False),
        sa.Column("celsius", sa.String(400), nullable=False),
        sa.ForeignKeyConstraint(
            ["log_id"],
            ["temperature_log.id"],
            name=op.f("fk_temperature_day_log_id_temperature_log"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_temperature_day")),
    )
    op.create_index("uq_temperature_day_log", "temperature_day", ["log_id", "on_date"], unique=True)


def downgrade() -> None:
    for table in ("temperature_day", "temperature_log", "stay", "place"):
        op.drop_table(table)
    with op.batch_alter_table("battery") as batch:
        for name in (*FILLED, *EMPTY):
            batch.drop_column(name)
