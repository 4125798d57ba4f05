import pytest

from app.domain.units.rounding import rounded_down


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [
        (89.96, 1, 89.9),
        (89.9999999999, 1, 90.0),
        (72.1, 1, 72.1),
        (72.19, 0, 72.0),
        (0.3 - 1e-12, 1, 0.3),
        (165.449, 2, 165.44),
    ],
)
def test_a_bound_is_never_shown_higher_than_it_is(value, digits, shown):
    assert rounded_down(value, digits) == pytest.approx(shown, abs=1e-12)
