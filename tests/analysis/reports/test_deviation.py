"""Where a test was done otherwise than the label means it."""

from app.analysis.evidence.result import analyse_test
from app.analysis.reports.deviation import deviations, uncorrected
from app.analysis.reports.procedure import procedure_of
from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.readings import Readings
from tests.builders import at_temperature, battery_details, discharge_details, steady


def found(about=None, **changes):
    about = about or battery_details(rated_hours=20.0)
    details = discharge_details(**changes)
    result = analyse_test(details, about, None)
    procedure = procedure_of(details, about, result)
    made = deviations(about, details.charge_condition, procedure, result)
    return {one.what: one for one in made}, uncorrected(made), procedure


def at(temperature_c, volts=10.0):
    return at_temperature(steady(last_v=volts), temperature_c)


def test_a_test_at_the_label_s_conditions_deviates_in_nothing_that_matters():
    made, open_, _ = found(readings=at(25.0))
    assert open_ == ()
    assert made["temperature"].test == "25.0 °C (battery, mean)"


def test_cold_is_corrected_and_says_by_how_much():
    made, open_, _ = found(readings=at(5.0))
    assert made["temperature"].corrected
    assert made["temperature"].treatment.startswith("Corrected by × 1.0")
    assert open_ == ()


def test_a_temperature_that_no_source_covers_stays_open():
    made, open_, _ = found(readings=at(47.0))
    assert not made["temperature"].corrected
    assert open_ == ("temperature",)


def test_a_temperature_that_was_not_noted_stays_open():
    made, open_, _ = found(readings=at(None))
    assert made["temperature"].test == "not noted"
    assert "temperature" in open_


def test_a_lower_bound_is_not_corrected_upwards():
    made, _, _ = found(readings=at(5.0, volts=12.9), end_reason=EndReason.TIME)
    assert not made["temperature"].corrected
    assert "never raises a lower bound" in made["temperature"].treatment


def test_an_unknown_hour_rate_matters_for_lead_acid_alone():
    lead = battery_details(chemistry=Chemistry.AGM, nominal_v=12.0)
    assert found(lead, readings=at(25.0))[1] == ("discharge current",)
    assert found(battery_details(), readings=at(25.0))[1] == ()


def test_the_charge_and_the_end_are_told_with_what_they_cost():
    made, _, _ = found(readings=at(25.0), charge_condition=ChargeCondition.FULL)
    assert made["charge before it"].treatment == "Within 1 % of full; counted in the uncertainty."
    assert "last voltage 10.00\u00a0V" in made["end of the discharge"].test
    made, _, _ = found(readings=at(25.0), charge_condition=ChargeCondition.NOT_FULL)
    assert "lower bound" in made["charge before it"].treatment


def test_currents_at_rest_are_no_currents_of_the_load():
    readings = Readings.of(
        [0, 3600, 7200, 10800, 14400],
        [0.0, 30.0, 30.0, 29.0, 28.0],
        [13.3, 13.0, 12.8, 12.4, 10.0],
    )
    _, _, procedure = found(readings=readings)
    assert (procedure.lowest_current_a, procedure.highest_current_a) == (28.0, 30.0)
    # The load is taken to have come on halfway between the two readings.
    assert (procedure.ended_at - procedure.started_at).total_seconds() == 12600
