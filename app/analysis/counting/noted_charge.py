"""The charge of a test of which only the result was noted."""

from dataclasses import dataclass

from app.domain.entities.discharge import NOTED_FIELDS, DischargeDetails
from app.domain.errors import FieldError, InvalidInput
from app.domain.fields.described_field import described_fields
from app.domain.i18n.message import say


@dataclass(frozen=True)
class NotedCharge:
    """What a counter said of a discharge that nobody followed; None where nothing was noted.

    charge_ah and energy_wh are figures of the counter, step_ah is the last digit of the charge, or
    what the last digit of the energy comes to. volts_by_hand says that the charge is energy over a
    voltage that was noted beside it, has_looks that both the hours and the load were noted.
    """

    charge_ah: float
    energy_wh: float | None
    duration_h: float | None
    mean_current_a: float | None
    last_voltage_v: float | None
    step_ah: float
    volts_by_hand: bool
    has_looks: bool


def noted_charge(test: DischargeDetails) -> NotedCharge:
    """The noted result as a charge. Amp-hours go before watt-hours; hours and mean current give
    each other.

    Raises InvalidInput where there are neither, watt-hours without a voltage, and a figure beyond
    its range.
    """
    for name in NOTED_FIELDS:
        value, quantity = (
            getattr(test, name),
            described_fields(DischargeDetails)[name].told.quantity,
        )
        if value is not None and quantity is not None:
            quantity.check(value, field=name)
    charge_ah, energy_wh, step_ah = test.counted_ah, test.counted_wh, 0.0
    if charge_ah is not None:
        step_ah = last_digit(charge_ah)
    elif energy_wh is None:
        raise InvalidInput([FieldError(_nothing(), "", "", "counted_ah")])
    elif test.mean_voltage_v is None:
        raise InvalidInput([FieldError(_no_voltage(), "", "", "mean_voltage_v")])
    else:
        charge_ah = energy_wh / test.mean_voltage_v
        step_ah = last_digit(energy_wh) / test.mean_voltage_v
    if energy_wh is None and test.mean_voltage_v is not None:
        energy_wh = charge_ah * test.mean_voltage_v
    hours, current_a = test.duration_h, test.mean_current_a
    took_h = charge_ah / current_a if hours is None and current_a is not None else hours
    return NotedCharge(
        charge_ah=charge_ah,
        energy_wh=energy_wh,
        duration_h=took_h,
        # What was counted over the hours it took goes before a figure of the load.
        mean_current_a=current_a if hours is None else charge_ah / hours,
        last_voltage_v=test.last_voltage_v,
        step_ah=step_ah,
        volts_by_hand=test.counted_ah is None,
        has_looks=hours is not None and current_a is not None,
    )


def refuse_result(test: DischargeDetails) -> None:
    """Raises InvalidInput where a result was noted beside readings: one of them would be passed
    over."""
    for name in NOTED_FIELDS:
        if getattr(test, name) is not None:
            both = say("readings and a noted result")
            raise InvalidInput.because(say("test"), both, say("one of the two"), name)


def last_digit(value: float) -> float:
    """The step of the last digit that was noted: 0.1 of 96.4, 1 of 96."""
    _, _, behind = f"{value:.10g}".partition("e")[0].partition(".")
    return float(10.0 ** -len(behind))


def _nothing() -> str:
    return say(
        "Enter readings, or the amp-hours that the meter counted, or its watt-hours with the mean "
        "voltage."
    )


def _no_voltage() -> str:
    return say(
        "Enter the mean voltage as well: without it, watt-hours cannot be turned into amp-hours. "
        "The battery's nominal voltage will do, but makes the result less certain."
    )
