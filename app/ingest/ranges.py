"""Which values a cell may hold, by the role of its column."""

from app.domain.quantity import (
    READING_COUNT,
    READING_CURRENT,
    READING_ELAPSED,
    READING_ENERGY,
    READING_GAUGE,
    READING_POWER,
    READING_TEMPERATURE,
    READING_VOLTAGE,
    Quantity,
)

RANGES: dict[str, Quantity] = {
    "time": READING_ELAPSED,
    "current": READING_CURRENT,
    "voltage": READING_VOLTAGE,
    "temperature": READING_TEMPERATURE,
    "gauge": READING_GAUGE,
    "power": READING_POWER,
    "count": READING_COUNT,
    "energy": READING_ENERGY,
}
