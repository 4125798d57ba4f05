"""What is no log, and what a log must not say, is refused by row and value."""

import contextlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.errors import InvalidInput
from app.ingest.reader import read_file
from app.ingest.text import UPLOAD_LIMIT_MB
from tests.ingest.logs import PLAIN, read


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty file"),
        (b"  \n \n", "empty file"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20, "This is a picture"),
        (PLAIN.encode("utf-32")[:-2], "This is not text"),
        (b"\xff\xfe\0\0" + b"\0\0\x11\0" * 99, "This is not text"),
        (b"hello\nworld\n", "lines with a time and a current"),
        (b"time_s,current_a\n0,9\n", "two rows"),
        (b"time_s,voltage_v\n0,13\n60,13\n", "one column with the current"),
        (b"time_s,current_a\n0,9\n60,abc\n120,9\n", "line 3, current”: “abc”"),
        (b"time_s,current_a\n0,9\n60,NaN\n120,9\n", "line 3, current”: “NaN”"),
        (b"time_s,current_a\n0,9\n60,inf\n120,9\n", "line 3, current”: “inf”"),
        (b"time_s,current_a\n0,9\n60,9e9\n120,9\n", "from −100000 to 100000 A"),
        (b"time_s,current_a\n0,9\n60,9\n30,9\n", "line 4, time”: “30”"),
        (b"time_s,current_a\n0,9\n60,9\n60,8\n", "line 4, time”: “60”"),
        (b"time,current_a,soc\n0:00,9,100\n1:00,9,140\n", "line 3, gauge”: “140”"),
        (b"time,current_a\n10:00,9\n10:75,9\n", "line 3, time"),
        (b"time,current,voltage\n0,10,5,13,1\n1,10,5,13,0\n", "5 cells"),
        (b"," * 300 + b"\n" + b"1,2," * 150 + b"\n", "at most 200"),
        (Path("README.md").read_bytes(), "No table of readings found"),
        (b"On 3 May 2 lamps ran.\n" + b"We slept well.\n" * 9, "begins with “On 3 May 2"),
    ],
)
def test_a_refusal_names_the_row_the_value_and_the_range(data, words):
    with pytest.raises(InvalidInput) as refusal:
        read_file(data)
    assert words in str(refusal.value)


def test_a_file_above_the_limit_is_refused_by_its_size():
    with pytest.raises(InvalidInput, match=f"at most {UPLOAD_LIMIT_MB} MB"):
        read_file(b"0" * (UPLOAD_LIMIT_MB * 1_000_000 + 1))


@settings(max_examples=300, derandomize=True)
@given(st.binary(max_size=400))
def test_random_bytes_are_read_or_refused_and_never_raise_anything_else(data):
    with contextlib.suppress(InvalidInput):
        read_file(data)


@settings(max_examples=300, derandomize=True)
@given(st.integers(0, len(PLAIN) - 1), st.characters(), st.integers(0, 3))
def test_a_good_file_with_a_slip_is_read_or_refused(place, character, length):
    spoilt = PLAIN[:place] + character + PLAIN[place + length :]
    with contextlib.suppress(InvalidInput):
        read_file(spoilt.encode("utf-8", "surrogatepass"))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04" + bytes(range(256)) * 40, "is damaged or incomplete"),
        (b"GIF89a" + bytes(200), "This is a picture"),
        (b"%PDF-1.7\n" + bytes(range(128, 256)) * 40 + b"\0\0", "This is a PDF"),
        (b"just one column\n1\n2\n3\n", "lines with a time and a current"),
        (b"=1+1,=2+2\n=cmd(),5\n", "lines with a time and a current"),
        (b"a" * 500_000, "lines with a time and a current"),
        (b"1," * 400_000, "at most 200"),
        (b"\n" * 1_100_000 + b"0,9\n1,9\n", "at most 1000100"),
        (b"time_s,W\n0,100\n60,100\n", "power and voltage"),
        (b"time_s,W,V\n0,100,13\n60,100,0\n", "voltage in reading 2"),
        (b"time,current\n0:00,9\n1:00,9\n0:30,9\n", "line 4, time"),
        (b"time_s,current_a\n0,9\n60,9\n999999999,9\n", "from 0 to 8640000 s"),
    ],
)
def test_what_is_no_log_is_a_sentence(data, words):
    with pytest.raises(InvalidInput) as refusal:
        read_file(data)
    assert words in str(refusal.value)


def test_a_file_cut_in_the_middle_of_a_line_is_read_up_to_there_or_refused_by_its_line():
    for end in range(40, len(PLAIN)):
        with contextlib.suppress(InvalidInput):
            assert len(read(PLAIN[:end]).readings) >= 2
