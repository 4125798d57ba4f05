"""The tables of places, and of how warm it was there."""

from datetime import date, datetime

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from app.domain.limits import MAX_LINE_LENGTH, MAX_NAME_LENGTH, MAX_NOTE_LENGTH
from app.storage.schema.table_base import Identified, unique_while_kept


class PlaceRow(Identified, table=True):
    """Where batteries live; the typical year is a JSON array of seasons or of hours."""

    __tablename__ = "place"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=MAX_NAME_LENGTH)
    note: str = Field(max_length=MAX_NOTE_LENGTH)
    seasons: str
    hours: str
    version: int = 1
    deleted_at: datetime | None = Field(default=None, index=True)


class StayRow(Identified, table=True):
    """A battery at a place, from a day on until its next stay begins."""

    __tablename__ = "stay"
    __table_args__ = (unique_while_kept("uq_stay_battery_day", "battery_id", "from_date"),)

    id: int | None = Field(default=None, primary_key=True)
    battery_id: int = Field(foreign_key="battery.id", index=True)
    place_id: int = Field(foreign_key="place.id", index=True)
    from_date: date
    version: int = 1
    deleted_at: datetime | None = Field(default=None, index=True)


class TemperatureLogRow(Identified, table=True):
    """A logger's file of a place; its hours stand in temperature_day."""

    __tablename__ = "temperature_log"

    id: int | None = Field(default=None, primary_key=True)
    place_id: int = Field(foreign_key="place.id", index=True)
    source: str = Field(max_length=MAX_LINE_LENGTH)
    said: str
    gives_way: bool
    added_at: datetime
    version: int = 1
    deleted_at: datetime | None = Field(default=None, index=True)


class TemperatureDayRow(SQLModel, table=True):
    """The 24 hourly means of a day in °C, with spaces between them and a dash where none is."""

    __tablename__ = "temperature_day"
    __table_args__ = (Index("uq_temperature_day_log", "log_id", "on_date", unique=True),)

    id: int | None = Field(default=None, primary_key=True)
    log_id: int = Field(foreign_key="temperature_log.id")
    on_date: date
    celsius: str = Field(max_length=400)
