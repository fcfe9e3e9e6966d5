"""What a sale or an order comes to: net, tax by the rate that counted then, and gross.

The house's currency and rate are looked up when the sale is judged and stand in its history, so
that a setting changed later changes no sale. What the sale itself says goes before.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from shared.money import Totals, rounded, total
from tracker.judge.entry import Payload
from tracker.judge.judgement import Rulebook

TERMS: Final = "terms"
"""Under which name of `resolved` the house's currency and rate stand."""


def terms_of(rules: Rulebook) -> dict[str, str]:
    """Return the house's currency and tax rate as a history keeps them."""
    return {"currency": rules.currency, "tax_rate_percent": format(rules.tax_rate_percent, "f")}


def price_of(payload: Payload, resolved: dict[str, Any]) -> dict[str, Any]:
    """Return the fields of a live sale that are about money; none where no price was named."""
    if payload.get("price") is None:
        return {"currency": payload.get("currency")}
    lines = [_line(one) for one in payload.get("lines") or ()]
    amounts = [Decimal(payload["price"]), *(Decimal(line["net"]) for line in lines)]
    price = _written(rounded(amounts[0]))
    return {"price": price, "lines": lines, **_sum(amounts, payload, resolved)}


def price_of_order(payload: Payload, resolved: dict[str, Any]) -> dict[str, Any]:
    """Return the fields of an order that are about money; none where no price was named."""
    if payload.get("price_each") is None:
        return {"currency": payload.get("currency")}
    each = rounded(Decimal(payload["price_each"]))
    total_of_all = [each * payload["count"]]
    return {"price_each": _written(each), **_sum(total_of_all, payload, resolved)}


def _line(said: dict[str, Any]) -> dict[str, Any]:
    each = rounded(Decimal(said["price_each"]))
    return {**said, "price_each": _written(each), "net": _written(each * said["count"])}


def _sum(amounts: list[Decimal], payload: Payload, resolved: dict[str, Any]) -> dict[str, Any]:
    terms = resolved.get(TERMS, {})
    because = payload.get("untaxed_because")
    rate = payload.get("tax_rate_percent") or terms.get("tax_rate_percent")
    rate = "0" if because is not None else rate and _written(Decimal(rate))
    told = {
        "currency": payload.get("currency") or terms.get("currency"),
        "untaxed_because": because,
        "tax_rate_percent": rate,
    }
    # A sale of before there were rates said nothing of tax: neither does its record.
    if rate is None:
        return {**told, "net": _written(total(amounts, Decimal(0)).net)}
    return {**told, **_totals(total(amounts, Decimal(rate)))}


def _totals(come_to: Totals) -> dict[str, str]:
    return {
        "net": _written(come_to.net),
        "tax": _written(come_to.tax),
        "gross": _written(come_to.gross),
    }


def _written(amount: Decimal) -> str:
    return format(amount, "f")
