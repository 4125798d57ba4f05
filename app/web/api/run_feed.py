"""A running test as JSON, and the readings that a device sends into it."""

from datetime import UTC, datetime
from typing import Annotated

from fastapi import Request, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from pydantic import AfterValidator, AwareDatetime, BaseModel, ConfigDict, Field

from app.analysis.test_day.running import RunningReport
from app.domain import quantity
from app.domain.entities.run import ReadingGiven
from app.domain.units.time_units import EARLIEST_YEAR
from app.services.access import joining
from app.services.entities import runs
from app.web.answers.common import CURRENT_A
from app.web.answers.error import TOO_LARGE
from app.web.answers.run import RunningAnswer, RunStandingAnswer
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import Id, now_of, store_of

router = LazyRouter(prefix="/api", tags=["runs"])
BEARER = HTTPBearer(
    scheme_name="feed", description="The word made on the page of a running test.", auto_error=False
)


def _sensible(at: datetime) -> datetime:
    """Years at the ends of the calendar overflow in another time zone."""
    if not EARLIEST_YEAR <= at.year <= 2200:
        raise ValueError("a moment from 1970 to 2200")
    return at.astimezone(UTC)


Number = Annotated[float, Field(strict=True)]


class SentReading(BaseModel):
    """One reading of a feed. The moment carries its offset, or is seconds since 1970."""

    model_config = ConfigDict(extra="forbid")

    at: Annotated[
        AwareDatetime,
        AfterValidator(_sensible),
        Field(description="When it was measured: a date and time with its offset (RFC 3339)."),
    ]
    current_a: Annotated[Number, Field(description=CURRENT_A)]
    voltage_v: Annotated[Number | None, Field(description="Of the battery, in volts.")] = None
    temperature_c: Annotated[Number | None, Field(description="Of the battery itself.")] = None
    gauge_percent: Annotated[
        Number | None, Field(description="What a gauge shows. It is used for no capacity.")
    ] = None
    counted_ah: Annotated[
        Number | None, Field(description="What the meter's own counter shows, in every reading.")
    ] = None

    def given(self) -> ReadingGiven:
        """As a reading within its ranges. Raises InvalidInput."""
        for value, allowed, name in (
            (self.current_a, quantity.READING_CURRENT, "current_a"),
            (self.voltage_v, quantity.READING_VOLTAGE, "voltage_v"),
            (self.temperature_c, quantity.READING_TEMPERATURE, "temperature_c"),
            (self.gauge_percent, quantity.READING_GAUGE, "gauge_percent"),
            (self.counted_ah, quantity.READING_COUNT, "counted_ah"),
        ):
            if value is not None:
                allowed.check(value, f"{name} at {self.at.isoformat()}", name)
        return ReadingGiven(**self.model_dump())


class SentReadings(BaseModel):
    """What a feed sends: one reading or many, in any order."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "readings": [
                        {"at": "2026-05-02T08:00:00Z", "current_a": 9.0, "voltage_v": 13.1},
                        {"at": "2026-05-02T10:30:00+02:00", "current_a": 9.1, "voltage_v": 13.0},
                    ]
                }
            ]
        }
    )

    readings: list[SentReading] = Field(min_length=1, max_length=runs.MAX_FED)


class Taken(BaseModel):
    """What became of them."""

    stored: Annotated[int, Field(description="How many were new and are stored now.")]
    known: Annotated[int, Field(description="How many were there before: sent twice.")]


@router.get("/runs/{run_id}", response_model=RunningAnswer)
def api_run(request: Request, run_id: Id) -> RunningReport:
    """A running test as it stands."""
    return runs.show_run(store_of(request), run_id, now_of(request)).report


@router.get("/runs/{run_id}/state", name="run_state", response_model=RunStandingAnswer)
def api_state(request: Request, run_id: Id) -> RunStandingAnswer:
    """How many readings a run has and whether it is running: little enough to ask often."""
    store = store_of(request)
    standing = runs.show_standing(store, run_id)
    phones = joining.list_phones(store, now_of(request), run_id)
    return RunStandingAnswer(state=standing.state, readings=standing.readings, phones=len(phones))


@router.post("/runs/{run_id}/readings", name="feed_run", responses=TOO_LARGE)
def api_feed(
    request: Request,
    run_id: Id,
    sent: SentReadings,
    credentials: Annotated[HTTPAuthorizationCredentials | None, Security(BEARER)],
) -> Taken:
    """Send readings into a run, with the word made on its page as a bearer token.

    All of them are stored or none; the same reading twice is stored once.
    """
    token = credentials.credentials if credentials else ""
    given = [one.given() for one in sent.readings]
    fed = runs.feed_readings(store_of(request), run_id, token, given, now_of(request))
    return Taken(stored=fed.stored, known=fed.known)
