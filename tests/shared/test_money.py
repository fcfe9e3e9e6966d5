from decimal import Decimal

import pytest

from shared.money import Totals, decimals_of, rounded, total
from shared.table_files import load_table


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


@pytest.mark.parametrize(
    ("currency", "decimals"), [("EUR", 2), ("JPY", 0), ("KWD", 3), ("XOF", 0), ("QQQ", 2)]
)
def test_currency_has_the_decimals_of_its_minor_unit(currency: str, decimals: int) -> None:
    assert decimals_of(currency) == decimals


def test_table_names_only_currencies_that_have_not_the_usual_two_decimals() -> None:
    rows = load_table("currency_decimals")
    assert len({row["currency"] for row in rows}) == len(rows) > 20
    assert {row["decimals"] for row in rows} == {"0", "3"}
    assert all(row.source and len(row["currency"]) == 3 for row in rows)


def test_half_a_minor_unit_is_rounded_up_in_each_currency() -> None:
    assert str(total(amounts("105"), Decimal(10), 0).tax) == "11"
    assert str(total(amounts("0.010"), Decimal(5), 3).tax) == "0.001"


def test_nothing_comes_to_nothing() -> None:
    assert str(total([], Decimal(20)).gross) == "0.00"
    assert str(rounded(Decimal("1E+3"))) == "1000.00"
