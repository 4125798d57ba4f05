"""Files of the world come in as a reasonable person expects, or the words lead on."""

from datetime import datetime

import numpy as np
import pytest

from app.domain.errors import InvalidInput
from app.ingest.reader import read_file
from tests.ingest.files_of_the_world import FILES, Reads, Refuses

READS = {name: one for name, one in FILES.items() if isinstance(one[1], Reads)}
REFUSES = {name: one for name, one in FILES.items() if isinstance(one[1], Refuses)}


def same(found, expected):
    wanted = [np.nan if value is None else value for value in expected]
    assert list(found) == pytest.approx(wanted, nan_ok=True)


@pytest.mark.parametrize("name", READS)
def test_a_file_comes_in_as_expected(name):
    text, expected = READS[name]
    read = read_file(text.encode())
    same(read.readings.elapsed_s, expected.seconds)
    same(np.abs(read.readings.current_a), expected.amps)
    if expected.volts is not None:
        same(read.readings.voltage_v, expected.volts)
    if expected.celsius is not None:
        same(read.readings.temperature_c, expected.celsius)
    if expected.percent is not None:
        same(read.readings.gauge_percent, expected.percent)
    if expected.begins:
        assert read.started_at == datetime.fromisoformat(expected.begins)
    said = " ".join(map(str, read.assumptions))
    assert [words for words in expected.said if words not in said] == []


@pytest.mark.parametrize("name", REFUSES)
def test_what_a_file_does_not_say_is_asked_or_refused_in_words_that_lead_on(name):
    text, expected = REFUSES[name]
    with pytest.raises(InvalidInput) as refusal:
        read_file(text.encode())
    assert [words for words in expected.words if words not in str(refusal.value)] == []
