"""What a column of readings is, and in which unit."""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.marks import N_
from app.domain.message import say

# The columns of the table in which readings are typed, in its order.
TYPED_COLUMNS = ("time", "current", "voltage", "temperature", "gauge", "count")
# The one among them that most meters do not show: it is there once it is asked for.
FOLDED_COLUMN = "count"


class ColumnUse(StrEnum):
    """What a column is read as; the value is what forms send."""

    IGNORE = "ignore"
    CLOCK = "clock"
    DATE = "date"
    ELAPSED_MS = "elapsed_ms"
    ELAPSED_S = "elapsed_s"
    ELAPSED_MIN = "elapsed_min"
    ELAPSED_H = "elapsed_h"
    EPOCH_S = "epoch_s"
    EPOCH_MS = "epoch_ms"
    SERIAL_DAYS = "serial_days"
    CURRENT_A = "current_a"
    CURRENT_MA = "current_ma"
    CURRENT_UA = "current_ua"
    CURRENT_KA = "current_ka"
    VOLTAGE_V = "voltage_v"
    VOLTAGE_MV = "voltage_mv"
    VOLTAGE_KV = "voltage_kv"
    TEMPERATURE_C = "temperature_c"
    TEMPERATURE_F = "temperature_f"
    GAUGE_PERCENT = "gauge_percent"
    POWER_W = "power_w"
    POWER_MW = "power_mw"
    POWER_KW = "power_kw"
    COUNT_AH = "count_ah"
    COUNT_MAH = "count_mah"
    ENERGY_WH = "energy_wh"
    CHANNEL = "channel"

    @property
    def label(self) -> str:
        return say(_LABELS[self])

    @property
    def role(self) -> str:
        """The column of the readings that it fills."""
        return _ROLES[self]


# In this order stand the columns of a file without headings.
USUAL_ORDER = (
    ColumnUse.CLOCK,
    ColumnUse.CURRENT_A,
    ColumnUse.VOLTAGE_V,
    ColumnUse.TEMPERATURE_C,
    ColumnUse.GAUGE_PERCENT,
)
TYPED_USES = (*USUAL_ORDER, ColumnUse.COUNT_AH)
# What may stand between the cells of a line, with its name.
DELIMITERS = {
    ",": N_("commas"),
    ";": N_("semicolons"),
    "\t": N_("tabs"),
    "|": N_("bars"),
    " ": N_("spaces"),
}
_LABELS = {
    ColumnUse.IGNORE: N_("left out"),
    ColumnUse.CLOCK: N_("time of day, h:mm, or date with time"),
    ColumnUse.DATE: N_("date, beside a time of day"),
    ColumnUse.ELAPSED_MS: N_("time in milliseconds"),
    ColumnUse.ELAPSED_S: N_("time in seconds"),
    ColumnUse.ELAPSED_MIN: N_("time in minutes"),
    ColumnUse.ELAPSED_H: N_("time in hours"),
    ColumnUse.EPOCH_S: N_("seconds since 1970"),
    ColumnUse.EPOCH_MS: N_("milliseconds since 1970"),
    ColumnUse.SERIAL_DAYS: N_("date as a spreadsheet's number of days"),
    ColumnUse.CURRENT_A: N_("current in A"),
    ColumnUse.CURRENT_MA: N_("current in mA"),
    ColumnUse.CURRENT_UA: N_("current in µA"),
    ColumnUse.CURRENT_KA: N_("current in kA"),
    ColumnUse.VOLTAGE_V: N_("voltage in V"),
    ColumnUse.VOLTAGE_MV: N_("voltage in mV"),
    ColumnUse.VOLTAGE_KV: N_("voltage in kV"),
    ColumnUse.TEMPERATURE_C: N_("temperature in °C"),
    ColumnUse.TEMPERATURE_F: N_("temperature in °F"),
    ColumnUse.GAUGE_PERCENT: N_("the gauge's %"),
    ColumnUse.POWER_W: N_("power in W (current = power / voltage)"),
    ColumnUse.POWER_MW: N_("power in mW (current = power / voltage)"),
    ColumnUse.POWER_KW: N_("power in kW (current = power / voltage)"),
    ColumnUse.COUNT_AH: N_("amp-hours counted so far"),
    ColumnUse.COUNT_MAH: N_("milliamp-hours counted so far"),
    ColumnUse.ENERGY_WH: N_("watt-hours counted so far (charge = their growth / voltage)"),
    ColumnUse.CHANNEL: N_("which battery or channel"),
}
_TIMES = (
    ColumnUse.CLOCK,
    ColumnUse.ELAPSED_MS,
    ColumnUse.ELAPSED_S,
    ColumnUse.ELAPSED_MIN,
    ColumnUse.ELAPSED_H,
    ColumnUse.EPOCH_S,
    ColumnUse.EPOCH_MS,
    ColumnUse.SERIAL_DAYS,
)
_ROLES = {
    ColumnUse.IGNORE: "",
    ColumnUse.DATE: "date",
    **dict.fromkeys(_TIMES, "time"),
    ColumnUse.CURRENT_A: "current",
    ColumnUse.CURRENT_MA: "current",
    ColumnUse.CURRENT_UA: "current",
    ColumnUse.CURRENT_KA: "current",
    ColumnUse.VOLTAGE_V: "voltage",
    ColumnUse.VOLTAGE_MV: "voltage",
    ColumnUse.VOLTAGE_KV: "voltage",
    ColumnUse.TEMPERATURE_C: "temperature",
    ColumnUse.TEMPERATURE_F: "temperature",
    ColumnUse.GAUGE_PERCENT: "gauge",
    ColumnUse.POWER_W: "power",
    ColumnUse.POWER_MW: "power",
    ColumnUse.POWER_KW: "power",
    ColumnUse.COUNT_AH: "count",
    ColumnUse.COUNT_MAH: "count",
    ColumnUse.ENERGY_WH: "energy",
    ColumnUse.CHANNEL: "channel",
}


# Times that count from a moment of the calendar, not from the start of the record.
DATED_NUMBERS = (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS, ColumnUse.SERIAL_DAYS)


class DayOrder(StrEnum):
    """How dates such as 03/04/2026 are meant."""

    DAY_FIRST = "day_first"
    MONTH_FIRST = "month_first"

    @property
    def words(self) -> str:
        if self is DayOrder.DAY_FIRST:
            return say("day first (03/04 is 3 April)")
        return say("month first (03/04 is 4 March)")


@dataclass(frozen=True)
class FileLayout:
    """What the owner says of a file's layout; empty is found from the content."""

    delimiter: str = ""
    decimal: str = ""
    day_order: DayOrder | None = None
