"""Sums of money: net amounts, the tax on their sum, and what is to be paid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

CENT: Final = Decimal("0.01")
_PERCENT: Final = Decimal(100)


@dataclass(frozen=True, slots=True)
class Totals:
    """What a document comes to, each rounded to the hundredth of its currency."""

    net: Decimal
    tax: Decimal
    gross: Decimal


def total(amounts: Iterable[Decimal], rate_percent: Decimal) -> Totals:
    """Return what net amounts come to with tax at a rate.

    The tax is reckoned and rounded once, on the sum: lines rounded one by one would add up to
    something else. A half is rounded away from nought, as in commerce.
    """
    net = rounded(sum(amounts, Decimal(0)))
    tax = rounded(net * rate_percent / _PERCENT)
    return Totals(net, tax, net + tax)


def rounded(amount: Decimal) -> Decimal:
    """Return an amount to the hundredth, a half rounded up."""
    return amount.quantize(CENT, ROUND_HALF_UP)
