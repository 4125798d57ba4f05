"""Published practice for the wait between capacity tests, case by case.

IEEE 450 and IEEE 1188 as quoted by eps-stl.com/?page_id=39 (read in a stored page): a test within
the first two years, then at most every quarter of the expected life (the form of IEEE 1188: or two
years, whatever is less); yearly once degraded, which is a drop of more than 10 % of the capacity
of the test before or less than 90 % of the rating, or from 85 % of the expected life on; at 100 %
or more without degradation two-yearly is still acceptable. US Bureau of Reclamation, Storage
Battery Maintenance: yearly below 90 % of the original rating.
"""

import pytest

from app.analysis.battery.max_test_interval import longest_interval

CASES = [
    # share, previous, age, life, years, code
    (1.00, None, 0.0, None, 2.0, "two_years"),
    (0.99, 1.00, 1.0, 20.0, 2.0, "two_years"),
    (0.99, 1.00, 1.0, 8.0, 2.0, "two_years"),
    (0.99, 1.00, 1.0, 6.0, 1.5, "quarter_of_life"),
    (0.99, 1.00, 1.0, 4.0, 1.0, "quarter_of_life"),
    (0.90, 0.95, 3.0, 10.0, 2.0, "two_years"),
    (0.899, 0.95, 3.0, 10.0, 1.0, "degraded"),
    (0.81, 0.90, 3.0, 10.0, 1.0, "degraded"),
    # A drop of more than 10 % of the test before, though still above 90 % of the rating.
    (0.93, 1.05, 3.0, 10.0, 1.0, "dropped"),
    (0.945, 1.05, 3.0, 10.0, 2.0, "two_years"),
    # 85 % of the expected life.
    (0.95, 0.96, 8.4, 10.0, 2.0, "two_years"),
    (0.95, 0.96, 8.5, 10.0, 1.0, "old"),
    (1.00, 1.01, 9.0, 10.0, 2.0, "old_but_full"),
    (1.02, 1.14, 9.0, 10.0, 1.0, "dropped"),
]


@pytest.mark.parametrize(("share", "previous", "age", "life", "years", "code"), CASES)
def test_the_rule_case_by_case(share, previous, age, life, years, code):
    found = longest_interval(share, previous, age, life)
    assert (found.years, found.code) == (years, code)


@pytest.mark.parametrize("share", [0.5, 0.85, 0.9, 0.95, 1.0, 1.1])
@pytest.mark.parametrize("life", [None, 1.0, 5.0, 8.0, 30.0])
def test_no_wait_is_longer_than_two_years_or_a_quarter_of_the_life(share, life):
    found = longest_interval(share, None, 0.0, life)
    assert found.years <= 2.0
    if life is not None and found.code not in ("degraded", "old"):
        assert found.years <= max(0.25 * life, 0.0) + 1e-9


def test_the_very_ninety_percent_of_a_label_is_not_below_it():
    assert longest_interval(207 / 230, None, 1.0, 20.0).code == "two_years"
