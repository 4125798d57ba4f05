"""What an owner says of a battery for everybody who sees its results, field by field."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from app.domain import quantity as q
from app.domain.chemistry import Chemistry
from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.limits import MAX_NAME_LENGTH
from app.domain.threshold import ThresholdKind


@dataclass(frozen=True)
class BatteryFields:
    """What is on its label, and what it is needed for. Shares are fractions, 0.8 for 80 %."""

    name: Annotated[
        str,
        Described(
            N_("Name"),
            "What the owner calls it.",
            longest=MAX_NAME_LENGTH,
            called=N_("name"),
            sent=True,
        ),
    ]
    chemistry: Annotated[
        Chemistry,
        Described(N_("Chemistry"), "Chemistry of its cells.", called=N_("chemistry"), sent=True),
    ]
    nominal_v: Annotated[
        float,
        Described(N_("Nominal voltage"), "Voltage on its label.", q.NOMINAL_VOLTAGE, sent=True),
    ]
    rated_ah: Annotated[
        float,
        Described(N_("Rated capacity"), "Capacity on its label.", q.RATED_CAPACITY, sent=True),
    ]
    rated_hours: Annotated[
        float | None,
        Described(
            N_("Hour rate"),
            "Hours over which the rated capacity is delivered.",
            q.RATED_HOURS,
            sent=True,
        ),
    ] = None
    rated_temperature_c: Annotated[
        float,
        Described(
            N_("Rated temperature"),
            "Temperature at which the rated capacity holds.",
            q.RATED_TEMPERATURE,
            sent=True,
        ),
    ] = 25.0
    in_service_since: Annotated[
        date | None,
        Described(
            N_("In service since"),
            "First day in use.",
            called=N_("in service since"),
            sent=True,
        ),
    ] = None
    cut_off_v: Annotated[
        float | None,
        Described(
            N_("Cut-off voltage"),
            "Terminal voltage at which a test ends.",
            q.CUT_OFF_VOLTAGE,
            sent=True,
        ),
    ] = None
    empty_under_load_v: Annotated[
        float | None,
        Described(
            N_("Empty under load"),
            "Terminal voltage under load at which it counts as empty, where the owner gave one.",
            q.EMPTY_VOLTAGE,
            sent=True,
        ),
    ] = None
    corrects_temperature: Annotated[
        bool,
        Described(
            N_("Corrects temperature"),
            "Whether results are corrected to the rated temperature.",
            sent=True,
        ),
    ] = True
    corrects_rate: Annotated[
        bool,
        Described(
            N_("Corrects rate"), "Whether results are corrected to the hour rate.", sent=True
        ),
    ] = True
    reserve_share: Annotated[
        float,
        Described(
            N_("Reserve"),
            "Share of what the battery holds that is kept back, 0.2 for 20 %.",
            q.RESERVE,
            sent=True,
        ),
    ] = 0.0
    threshold_kind: Annotated[
        ThresholdKind,
        Described(
            N_("Threshold"),
            "What the end of its life is measured by.",
            called=N_("end of life"),
            sent=True,
        ),
    ] = ThresholdKind.RATED
    end_of_life_share: Annotated[
        float,
        Described(
            N_("End-of-life share"),
            "Share of the capacity below which its life ends, 0.8 for 80 %.",
            q.END_OF_LIFE,
            sent=True,
        ),
    ] = 0.8
    daily_use_ah: Annotated[
        float | None,
        Described(N_("Use a day"), "What is drawn in a day and a night.", q.DAILY_USE, sent=True),
    ] = None
    nights: Annotated[
        float | None,
        Described(
            N_("Nights"),
            "Nights without charging that it has to last.",
            q.NIGHTS,
            unit="d",
            sent=True,
        ),
    ] = None
    test_interval_days: Annotated[
        int,
        Described(
            N_("Days between tests"),
            "After how many days a test is due.",
            q.TEST_INTERVAL,
            unit="d",
            sent=True,
        ),
    ] = 91
