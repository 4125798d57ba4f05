"""What a battery's file was taken for the last time: said, dropped where it no longer fits."""

import math
from dataclasses import replace

import pytest

from app.domain.entities.meter import MeterKind
from app.domain.units.column import ColumnUse
from app.services.entities import batteries, discharges
from app.services.entities.discharges import Original
from app.services.exchange import upload_staging
from tests.builders import NOW, battery_details, discharge_details

USES = (ColumnUse.ELAPSED_H, ColumnUse.CURRENT_MA, ColumnUse.VOLTAGE_V)
AS_LAST_TIME = "as last time"


def log(amps, mark=".", volts=13.2):
    rows = "".join(f"{h};{amps:g};{volts:g}\n".replace(".", mark) for h in range(11))
    return f"time;current;volts\n{rows}".encode()


@pytest.fixture
def battery(store):
    """A battery whose last file had milliamps without saying so."""
    made = batteries.add_battery(store, battery_details())
    staged = upload_staging.stage(store, log(9000), battery_id=made.id)
    staged = upload_staging.look_at(store, staged.name, USES, battery_id=made.id)
    details = replace(discharge_details(), readings=staged.source.readings)
    original = Original("log.csv", log(9000), staged.header, staged.uses)
    discharges.add_discharge(store, made.id, details, MeterKind.SHUNT, NOW, original)
    return made


def first_current(staged):
    return staged.source.readings.current_a[0]


def said(staged):
    return any(AS_LAST_TIME in one for one in staged.source.assumptions)


def test_the_next_file_is_read_as_the_last_and_that_is_said(store, battery):
    staged = upload_staging.stage(store, log(8500), battery_id=battery.id)
    assert staged.problems == ()
    assert first_current(staged) == pytest.approx(8.5)
    assert said(staged)
    assert said(upload_staging.look_at(store, staged.name, USES, battery_id=battery.id))


def test_a_column_without_a_heading_does_not_keep_the_others_from_being_remembered(store):
    unnamed = log(9000).replace(b"volts", b"")
    made = batteries.add_battery(store, battery_details())
    staged = upload_staging.stage(store, unnamed, battery_id=made.id)
    staged = upload_staging.look_at(store, staged.name, USES, battery_id=made.id)
    assert "" in staged.header
    details = replace(discharge_details(), readings=staged.source.readings)
    original = Original("log.csv", unnamed, staged.header, staged.uses)
    discharges.add_discharge(store, made.id, details, MeterKind.SHUNT, NOW, original)
    assert said(upload_staging.stage(store, unnamed, battery_id=made.id))


def test_it_is_not_said_of_columns_that_were_chosen_otherwise(store, battery):
    staged = upload_staging.stage(store, log(8500), battery_id=battery.id)
    amps = (USES[0], ColumnUse.CURRENT_A, USES[2])
    assert not said(upload_staging.look_at(store, staged.name, amps, battery_id=battery.id))


def test_another_battery_s_file_is_asked_about(store, battery):
    other = batteries.add_battery(store, battery_details(name="Other"))
    staged = upload_staging.stage(store, log(8500), battery_id=other.id)
    assert staged.source is None
    assert "then 85 Ah" in staged.problems[0].sentence


@pytest.mark.parametrize("amps", [9.0, 90.0])
def test_a_unit_that_the_values_contradict_is_dropped(store, battery, amps):
    staged = upload_staging.stage(store, log(amps), battery_id=battery.id)
    if amps < 50:
        assert first_current(staged) == 9.0
        assert not said(staged)
    else:
        # 90 mA are no load; 90 A or 90 mA is asked, as of a new file.
        assert staged.source is None


def test_a_file_that_it_would_refuse_is_read_for_itself(store, battery):
    """Another mark of the decimals, and volts that are no number any more."""
    staged = upload_staging.stage(store, log(8500, mark=",", volts=13.25), battery_id=battery.id)
    assert staged.source.readings.voltage_v[0] == pytest.approx(13.25)
    spoilt = log(9.0).replace(b";13.2", b";n/a")
    staged = upload_staging.stage(store, spoilt, battery_id=battery.id)
    assert math.isnan(staged.source.readings.voltage_v[0])
