"""How numbers are written for people."""

import pytest

from lightplan.naming import decimal


@pytest.mark.parametrize(
    ("value", "text"),
    [(-0.04, "0.0"), (-0.06, "−0.1"), (0.0, "0.0"), (8.24, "8.2"), (-18.0, "−18.0")],
)
def test_a_decimal_has_a_true_minus_and_none_before_nothing(value, text):
    assert decimal(value) == text
