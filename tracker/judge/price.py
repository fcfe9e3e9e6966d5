"""What a sale or an order comes to: net, tax by the rate that counted then, and gross.

The house's currency and rate are looked up when the sale is judged and stand in its history, so
that a setting changed later changes no sale. What the sale itself says goes before. So do the
decimals of its currency where they are not two; an amount that is finer is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

from schemas.events.base import Decision
from schemas.events.claim import ClaimClosed
from schemas.events.deal import Order, Sale
from schemas.findings import Finding, Severity
from shared.money import USUAL_DECIMALS, Totals, decimals_of, rounded, total
from shared.table_files import Certainty
from tracker.judge.entry import Payload
from tracker.judge.judgement import Rulebook
from tracker.judge.rules import Rule

TERMS: Final = "terms"
"""Under which name of `resolved` the house's currency and rate stand."""

_DECIMALS: Final = "decimals"


TOO_FINE: Final = Rule(
    id="price.finer-than-its-currency",
    severity=Severity.REFUSE,
    sentence="{seen} cannot be paid in {currency}, whose amounts have {decimals}. Give such an "
    "amount, or the currency that is meant.",
    source="ISO 4217, the minor unit",
    certainty=Certainty.ONE_TEXT,
    means="A price, or what was paid on a claim, has more decimals than its currency. What names "
    "none is in the house's currency.",
)
RULES: Final = (TOO_FINE,)

_WORDS: Final = {0: "no decimals", 2: "at most two decimals", 3: "at most three decimals"}


def terms_of(rules: Rulebook, currency: str | None) -> dict[str, Any]:
    """Return what a history keeps of the house's terms, for a sale in a currency or in none."""
    return with_decimals(
        {"currency": rules.currency, "tax_rate_percent": format(rules.tax_rate_percent, "f")},
        currency,
    )


def with_decimals(terms: dict[str, Any], currency: str | None) -> dict[str, Any]:
    """Return terms with the decimals of a sale's currency, where they are not the usual two."""
    told = {name: value for name, value in terms.items() if name != _DECIMALS}
    decimals = decimals_of(currency or str(terms.get("currency")))
    return told if decimals == USUAL_DECIMALS else {**told, _DECIMALS: decimals}


def too_fine(event: Decision, rules: Rulebook) -> list[Finding]:
    """Return a refusal of each amount that has more decimals than its currency."""
    if not isinstance(event, Sale | Order | ClaimClosed):
        return []
    currency = event.currency or rules.currency
    decimals = decimals_of(currency)
    return [
        TOO_FINE.finding(
            field, seen=format(amount, "f"), currency=currency, decimals=_WORDS[decimals]
        )
        for field, amount in _amounts(event)
        if amount is not None and amount != rounded(amount, decimals)
    ]


def _amounts(event: Sale | Order | ClaimClosed) -> Iterator[tuple[str, Decimal | None]]:
    match event:
        case Sale():
            yield "price", event.price
            for number, line in enumerate(event.lines or ()):
                yield f"lines.{number}.price_each", line.price_each
        case Order():
            yield "price_each", event.price_each
        case ClaimClosed():
            yield "amount", event.amount


def price_of(payload: Payload, resolved: dict[str, Any]) -> dict[str, Any]:
    """Return the fields of a live sale that are about money; none where no price was named."""
    if payload.get("price") is None:
        return {"currency": payload.get("currency")}
    decimals = _decimals(resolved)
    lines = [_line(one, decimals) for one in payload.get("lines") or ()]
    amounts = [Decimal(payload["price"]), *(Decimal(line["net"]) for line in lines)]
    price = _written(rounded(amounts[0], decimals))
    return {"price": price, "lines": lines, **_sum(amounts, payload, resolved)}


def price_of_order(payload: Payload, resolved: dict[str, Any]) -> dict[str, Any]:
    """Return the fields of an order that are about money; none where no price was named."""
    if payload.get("price_each") is None:
        return {"currency": payload.get("currency")}
    each = rounded(Decimal(payload["price_each"]), _decimals(resolved))
    total_of_all = [each * payload["count"]]
    return {"price_each": _written(each), **_sum(total_of_all, payload, resolved)}


def _decimals(resolved: dict[str, Any]) -> int:
    return int(resolved.get(TERMS, {}).get(_DECIMALS, USUAL_DECIMALS))


def _line(said: dict[str, Any], decimals: int) -> dict[str, Any]:
    each = rounded(Decimal(said["price_each"]), decimals)
    return {**said, "price_each": _written(each), "net": _written(each * said["count"])}


def _sum(amounts: list[Decimal], payload: Payload, resolved: dict[str, Any]) -> dict[str, Any]:
    terms, decimals = resolved.get(TERMS, {}), _decimals(resolved)
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
        return {**told, "net": _written(total(amounts, Decimal(0), decimals).net)}
    return {**told, **_totals(total(amounts, Decimal(rate), decimals))}


def _totals(come_to: Totals) -> dict[str, str]:
    return {
        "net": _written(come_to.net),
        "tax": _written(come_to.tax),
        "gross": _written(come_to.gross),
    }


def _written(amount: Decimal) -> str:
    return format(amount, "f")
