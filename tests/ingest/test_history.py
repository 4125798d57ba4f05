from datetime import date

import pytest

from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind
from app.ingest.history import read_history

HEAD = "battery,date,capacity_ah\n"


def test_several_batteries_stand_in_one_file():
    found = read_history((HEAD + "a,2024-01-01,100\nb,2024-01-01,50\na,2024-04-01,99\n").encode())
    assert [row.capacity_ah for row in found["a"]] == [100, 99]
    assert found["b"][0].on_date == date(2024, 1, 1)


def test_kind_and_uncertainty_are_optional():
    text = "kind;battery;capacity_ah;date;standard_uncertainty_ah\nat_least;a;80,5;2024-01-01;1\n"
    row = read_history(text.encode())["a"][0]
    assert row.kind is EvidenceKind.AT_LEAST
    assert (row.capacity_ah, row.standard_uncertainty_ah) == (80.5, 1.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("battery,date\na,2024-01-01\n", "capacity_ah"),
        (HEAD, "no rows"),
        (HEAD + "a,2024-01-01,minus\n", "line 2, capacity_ah”: “minus”"),
        (HEAD + "a,2024-01-01,-5\n", "above 0"),
        (HEAD + "a,2024-01-01,nan\n", "“nan”"),
        (HEAD + "a,2024-01-01,100,5\n", "more cells than headings"),
        (HEAD + "a,2024-13-01,5\n", "line 2, date"),
        (HEAD + "a,0024-01-01,5\n", "1900 to 2200"),
        (HEAD + ",2024-01-01,5\n", "line 2, battery"),
        (HEAD + "a,2024-01-01\n", "line 2, capacity_ah"),
        (HEAD[:-1] + ",kind\na,2024-01-01,5,guess\n", "measured or at_least"),
    ],
)
def test_a_refusal_names_the_line_and_the_value(text, words):
    with pytest.raises(InvalidInput) as refusal:
        read_history(text.encode())
    assert words in str(refusal.value)
