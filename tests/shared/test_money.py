from decimal import Decimal

import pytest

from shared.money import Totals, rounded, total


def amounts(*texts: str) -> list[Decimal]:
    return [Decimal(text) for text in texts]


@pytest.mark.parametrize(
    ("net", "rate", "tax"),
    [
        ("100.00", "20", "20.00"),
        ("0.10", "5", "0.01"),
        ("0.30", "5", "0.02"),
        ("0.50", "5", "0.03"),
        ("1450.00", "8.875", "128.69"),
        ("1450.00", "0", "0.00"),
        ("0.00", "20", "0.00"),
        ("9999999999.99", "100", "9999999999.99"),
    ],
)
def test_half_a_hundredth_is_rounded_up(net: str, rate: str, tax: str) -> None:
    found = total(amounts(net), Decimal(rate))
    assert found == Totals(Decimal(net), Decimal(tax), Decimal(net) + Decimal(tax))
    assert str(found.tax) == tax


def test_tax_is_reckoned_on_the_sum_and_not_line_by_line() -> None:
    # Line by line each would round up to 0.01 of tax: 0.03 in all.
    assert total(amounts("0.10", "0.10", "0.10"), Decimal(5)).tax == Decimal("0.02")
    assert total(amounts("0.05", "0.05", "0.05"), Decimal(5)).tax == Decimal("0.01")


def test_nothing_comes_to_nothing() -> None:
    assert str(total([], Decimal(20)).gross) == "0.00"
    assert str(rounded(Decimal("1E+3"))) == "1000.00"
