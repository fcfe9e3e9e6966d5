"""Sums of money: net amounts, the tax on their sum, and what is to be paid."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from types import MappingProxyType
from typing import Final

from shared.table_files import load_table

USUAL_DECIMALS: Final = 2
"""Of a currency that the table does not name."""

_PERCENT: Final = Decimal(100)


@dataclass(frozen=True, slots=True)
class Totals:
    """What a document comes to, each rounded to the minor unit of its currency."""

    net: Decimal
    tax: Decimal
    gross: Decimal


def decimals_of(currency: str) -> int:
    """Return how many decimals an amount in a currency has: its minor unit by ISO 4217."""
    return _table().get(currency, USUAL_DECIMALS)


@cache
def _table() -> Mapping[str, int]:
    rows = load_table("currency_decimals")
    return MappingProxyType({row["currency"]: int(row["decimals"]) for row in rows})


def total(
    amounts: Iterable[Decimal], rate_percent: Decimal, decimals: int = USUAL_DECIMALS
) -> Totals:
    """Return what net amounts come to with tax at a rate.

    The tax is reckoned and rounded once, on the sum: lines rounded one by one would add up to
    something else. A half is rounded away from nought, as in commerce.
    """
    net = rounded(sum(amounts, Decimal(0)), decimals)
    tax = rounded(net * rate_percent / _PERCENT, decimals)
    return Totals(net, tax, net + tax)


def rounded(amount: Decimal, decimals: int = USUAL_DECIMALS) -> Decimal:
    """Return an amount to so many decimals, a half rounded up."""
    return amount.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
