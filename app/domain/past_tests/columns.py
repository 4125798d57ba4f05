"""What a column of a table of past tests is."""

from enum import StrEnum

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say


class PastColumn(StrEnum):
    """What a column is read as; the value is what forms send."""

    IGNORE = "ignore"
    DAY = "day"
    CLOCK = "clock"
    BATTERY = "battery"
    CAPACITY_AH = "capacity_ah"
    CAPACITY_MAH = "capacity_mah"
    RATED_PERCENT = "rated_percent"
    ENERGY_WH = "energy_wh"
    ENERGY_KWH = "energy_kwh"
    MEAN_VOLTAGE_V = "mean_voltage_v"
    AIR_C = "air_c"
    AIR_F = "air_f"
    LOAD = "load"
    CURRENT_A = "current_a"
    POWER_W = "power_w"
    HOURS = "hours"
    MINUTES = "minutes"
    LAST_VOLTAGE_V = "last_voltage_v"
    CHARGE = "charge"
    END = "end"
    KIND = "kind"
    METER = "meter"
    NOTES = "notes"

    @property
    def label(self) -> str:
        return say(_LABELS[self])

    @property
    def role(self) -> str:
        """What it tells of a test, whatever its unit."""
        return _ROLES.get(self, self.value)


_LABELS = {
    PastColumn.IGNORE: N_("left out"),
    PastColumn.DAY: N_("day of the test"),
    PastColumn.CLOCK: N_("time of day"),
    PastColumn.BATTERY: N_("which battery"),
    PastColumn.CAPACITY_AH: N_("Ah delivered"),
    PastColumn.CAPACITY_MAH: N_("mAh delivered"),
    PastColumn.RATED_PERCENT: N_("% of rated capacity"),
    PastColumn.ENERGY_WH: N_("Wh delivered"),
    PastColumn.ENERGY_KWH: N_("kWh delivered"),
    PastColumn.MEAN_VOLTAGE_V: N_("mean voltage, V"),
    PastColumn.AIR_C: N_("air, °C"),
    PastColumn.AIR_F: N_("air, °F"),
    PastColumn.LOAD: N_("load, in words"),
    PastColumn.CURRENT_A: N_("mean current, A"),
    PastColumn.POWER_W: N_("load, W"),
    PastColumn.HOURS: N_("duration, h or h:mm"),
    PastColumn.MINUTES: N_("duration, min"),
    PastColumn.LAST_VOLTAGE_V: N_("last voltage, V"),
    PastColumn.CHARGE: N_("charge before the test"),
    PastColumn.END: N_("why the test ended"),
    PastColumn.KIND: N_("measured or at least"),
    PastColumn.METER: N_("meter"),
    PastColumn.NOTES: N_("notes"),
}
AMOUNTS = (
    PastColumn.CAPACITY_AH,
    PastColumn.CAPACITY_MAH,
    PastColumn.RATED_PERCENT,
    PastColumn.ENERGY_WH,
    PastColumn.ENERGY_KWH,
)
ENERGIES = (PastColumn.ENERGY_WH, PastColumn.ENERGY_KWH)
_ROLES = {
    **dict.fromkeys(AMOUNTS, "amount"),
    PastColumn.AIR_C: "air",
    PastColumn.AIR_F: "air",
    PastColumn.HOURS: "duration",
    PastColumn.MINUTES: "duration",
}
# Several columns may be these; anything else is told by one.
REPEATABLE = (PastColumn.IGNORE, PastColumn.NOTES)
