"""The tables. Rows never leave this package: repositories turn them into domain objects."""

from datetime import date, datetime

from sqlalchemy import CheckConstraint, Index, LargeBinary
from sqlmodel import Field, SQLModel

from app.domain.limits import (
    MAX_CURRENCY_LENGTH,
    MAX_LINE_LENGTH,
    MAX_NAME_LENGTH,
    MAX_NOTE_LENGTH,
    MAX_NOTES_LENGTH,
)
from app.storage.schema.place_tables import PlaceRow as PlaceRow
from app.storage.schema.place_tables import StayRow as StayRow
from app.storage.schema.place_tables import TemperatureDayRow as TemperatureDayRow
from app.storage.schema.place_tables import TemperatureLogRow as TemperatureLogRow
from app.storage.schema.table_base import Identified, unique_while_kept
from app.storage.schema.table_base import metadata as metadata


class BatteryRow(Identified, table=True):
    """A battery as its owner describes it; consumers are a JSON array."""

    __tablename__ = "battery"
    __table_args__ = (CheckConstraint("rated_ah > 0", name="rated_ah_positive"),)

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=MAX_NAME_LENGTH)
    chemistry: str = Field(max_length=20)
    nominal_v: float
    rated_ah: float
    rated_hours: float | None = None
    rated_temperature_c: float
    in_service_since: date | None = None
    cut_off_v: float | None = None
    empty_under_load_v: float | None = None
    corrects_temperature: bool
    corrects_rate: bool
    reserve_share: float
    threshold_kind: str = Field(max_length=20)
    end_of_life_share: float
    daily_use_ah: float | None = None
    nights: float | None = None
    test_interval_days: int
    place: str = Field(max_length=MAX_LINE_LENGTH)
    serial_number: str = Field(max_length=MAX_NAME_LENGTH)
    price: float | None = None
    notes: str = Field(max_length=MAX_NOTES_LENGTH)
    currency: str = Field(max_length=MAX_CURRENCY_LENGTH)
    warranty_from: date | None = None
    warranty_years: float | None = None
    warranty_share: float | None = None
    warranty_cycles: float | None = None
    drawn_ah_a_week: float | None = None
    full_discharges_a_year: float | None = None
    waits_at_low_share: float
    waits_at_high_share: float
    charge_ah_a_day: float | None = None
    cold_week_c: float | None = None
    # Consumers as a JSON array; they have no life without the battery.
    appliances: str
    version: int = 1
    deleted_at: datetime | None = Field(default=None, index=True)


class MeterRow(Identified, table=True):
    """An instrument with the limits of its errors."""

    __tablename__ = "meter"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=MAX_NAME_LENGTH)
    kind: str = Field(max_length=20)
    gain_limit_percent: float
    offset_limit_a: float
    resolution_a: float
    version: int = 1


class DischargeRow(Identified, table=True):
    """A capacity test with its packed readings."""

    __tablename__ = "discharge"
    __table_args__ = (
        # Two tests of one battery cannot start at the same instant.
        unique_while_kept("uq_discharge_battery_start", "battery_id", "started_at"),
    )

    id: int | None = Field(default=None, primary_key=True)
    battery_id: int = Field(foreign_key="battery.id", index=True)
    meter_id: int | None = Field(default=None, foreign_key="meter.id", index=True)
    started_at: datetime
    utc_offset_minutes: int
    charge_condition: str = Field(max_length=20)
    end_reason: str = Field(max_length=20)
    ended_after_h: float | None = None
    cut_off_v: float | None = None
    ambient_c: float | None = None
    load: str = Field(max_length=MAX_LINE_LENGTH)
    notes: str = Field(max_length=MAX_NOTES_LENGTH)
    source: str = Field(max_length=MAX_LINE_LENGTH)
    assumptions: str
    left_out_reason: str = Field(max_length=MAX_NOTE_LENGTH)
    # What was noted of a test without readings.
    counted_ah: float | None = None
    counted_wh: float | None = None
    mean_voltage_v: float | None = None
    duration_h: float | None = None
    mean_current_a: float | None = None
    last_voltage_v: float | None = None
    import_uid: str = Field(max_length=32)
    readings: bytes = Field(sa_type=LargeBinary)
    version: int = 1
    deleted_at: datetime | None = Field(default=None, index=True)


class EventRow(Identified, table=True):
    """Something that happened to a battery."""

    __tablename__ = "event"

    id: int | None = Field(default=None, primary_key=True)
    battery_id: int = Field(foreign_key="battery.id", index=True)
    on_date: date
    kind: str = Field(max_length=20)
    note: str = Field(max_length=MAX_NOTE_LENGTH)
    version: int = 1
    deleted_at: datetime | None = Field(default=None, index=True)


class ShareRow(SQLModel, table=True):
    """A read-only link, closed and ended ones too."""

    __tablename__ = "share"

    id: int | None = Field(default=None, primary_key=True)
    battery_id: int = Field(foreign_key="battery.id", index=True)
    token: str = Field(max_length=64)
    # Looked up by its hash, so that comparing takes the same time for every wrong guess.
    token_hash: str = Field(max_length=64, unique=True)
    label: str = Field(max_length=MAX_NAME_LENGTH)
    # One test of the battery where it is set, else the battery.
    discharge_id: int | None = Field(default=None, foreign_key="discharge.id", index=True)
    # Names of the parts that are shown, with commas between them.
    shows: str = Field(max_length=200)
    views: int = 0
    viewed_at: datetime | None = None
    created_at: datetime
    expires_at: datetime | None = None
    revoked_at: datetime | None = None


class ShareBesideRow(SQLModel, table=True):
    """Another battery that a link shows beside its own."""

    __tablename__ = "share_beside"
    __table_args__ = (Index("uq_share_beside_battery", "share_id", "battery_id", unique=True),)

    id: int | None = Field(default=None, primary_key=True)
    share_id: int = Field(foreign_key="share.id")
    battery_id: int = Field(foreign_key="battery.id", index=True)


class RunRow(Identified, table=True):
    """A capacity test while it runs; a finished one leads to what it became."""

    __tablename__ = "run"

    id: int | None = Field(default=None, primary_key=True)
    battery_id: int = Field(foreign_key="battery.id", index=True)
    meter_id: int = Field(foreign_key="meter.id", index=True)
    discharge_id: int | None = Field(default=None, foreign_key="discharge.id", index=True)
    started_at: datetime
    utc_offset_minutes: int
    charge_condition: str = Field(max_length=20)
    load: str = Field(max_length=MAX_LINE_LENGTH)
    reading_every_min: float
    ambient_c: float | None = None
    notes: str = Field(max_length=MAX_NOTES_LENGTH)
    state: str = Field(max_length=20, index=True)
    # A feed's word is kept as its hash alone: it is shown once, when it is made.
    feed_hash: str | None = Field(default=None, max_length=64)
    version: int = 1


class RunReadingRow(SQLModel, table=True):
    """One reading of a run at its moment; a struck one says why it does not count."""

    __tablename__ = "run_reading"
    # The same moment is one reading, however often and from wherever it is sent.
    __table_args__ = (Index("uq_run_reading_moment", "run_id", "at", unique=True),)

    id: int | None = Field(default=None, primary_key=True)
    run_id: int = Field(foreign_key="run.id")
    at: datetime
    current_a: float
    voltage_v: float | None = None
    temperature_c: float | None = None
    gauge_percent: float | None = None
    counted_ah: float | None = None
    source: str = Field(max_length=20)
    struck_reason: str = Field(max_length=MAX_NOTE_LENGTH)
    # Its owner was asked about it, and meant it.
    meant: bool = False
    version: int = 1


class AttachmentRow(SQLModel, table=True):
    """The file a test came from, compressed, as evidence."""

    __tablename__ = "attachment"

    id: int | None = Field(default=None, primary_key=True)
    discharge_id: int = Field(foreign_key="discharge.id", index=True)
    name: str = Field(max_length=MAX_LINE_LENGTH)
    sha256: str = Field(max_length=64)
    size: int
    packed: bytes = Field(sa_type=LargeBinary)


class PhotoRow(Identified, table=True):
    """A picture of a meter or a label, drawn anew without what the camera wrote into it."""

    __tablename__ = "photo"

    id: int | None = Field(default=None, primary_key=True)
    discharge_id: int = Field(foreign_key="discharge.id", index=True)
    caption: str = Field(max_length=MAX_LINE_LENGTH)
    added_at: datetime
    width: int
    height: int
    sha256: str = Field(max_length=64)
    jpeg: bytes = Field(sa_type=LargeBinary)
    deleted_at: datetime | None = Field(default=None, index=True)


class FileShapeRow(SQLModel, table=True):
    """What the columns of a battery's files with these headings were taken for, the last time."""

    __tablename__ = "file_shape"

    id: int | None = Field(default=None, primary_key=True)
    headings_hash: str = Field(max_length=64, unique=True)
    uses: str = Field(max_length=4000)
    # Delimiter, decimal mark and order of dates, as JSON: once remembered, now always open.
    layout: str = Field(max_length=200)


class SettingRow(SQLModel, table=True):
    """What the owner set for the whole program, such as the folder of backups."""

    __tablename__ = "setting"

    name: str = Field(max_length=40, primary_key=True)
    value: str = Field(max_length=4000)


class RevisionRow(SQLModel, table=True):
    """What an edit replaced: the whole row as it was."""

    __tablename__ = "revision"
    __table_args__ = (Index("ix_revision_thing", "thing", "thing_id"),)

    id: int | None = Field(default=None, primary_key=True)
    thing: str = Field(max_length=20)
    thing_id: int
    version: int
    replaced_at: datetime
    before: bytes = Field(sa_type=LargeBinary)
