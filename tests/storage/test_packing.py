import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.errors import StorageError
from app.domain.readings import COLUMNS, Readings
from app.storage.schema.packing import pack_readings, unpack_readings

numbers = st.floats(allow_nan=False, allow_infinity=False)


@settings(max_examples=100, derandomize=True)
@given(st.lists(st.tuples(numbers, numbers, st.none() | numbers), max_size=50))
def test_readings_come_back_to_the_last_bit(rows):
    readings = Readings.of([r[0] for r in rows], [r[1] for r in rows], [r[2] for r in rows])
    back = unpack_readings(pack_readings(readings))
    for name in COLUMNS:
        for before, after in zip(getattr(readings, name), getattr(back, name), strict=True):
            assert before == after or (math.isnan(before) and math.isnan(after))


@pytest.mark.parametrize("spoil", [lambda d: d[:-3], lambda d: b"XXXX" + d[4:], lambda d: d[:0]])
def test_damaged_readings_are_a_sentence(spoil):
    packed = pack_readings(Readings.of([0.0, 1.0], [9.0, 9.0]))
    with pytest.raises(StorageError, match="damaged"):
        unpack_readings(spoil(packed))


def test_a_counter_comes_back_and_old_readings_have_none():
    with_counter = Readings.of([0, 60], [9, 9], counted_ah=[5.0, None])
    back = unpack_readings(pack_readings(with_counter))
    assert back.digest == with_counter.digest
    assert back.columns[-1] == "counted_ah"
    without = Readings.of([0, 60], [9, 9])
    assert pack_readings(without).startswith(b"FLR1")
    assert unpack_readings(pack_readings(without)).counted_ah is None
    assert without.digest != with_counter.digest
