"""What a sale or an order comes to, in a few words for a terminal."""

from __future__ import annotations

from typing import Any


def price_words(deal: dict[str, Any]) -> str:
    """Return price, tax and sum of a sale or an order as JSON; empty where no price was named."""
    net, currency = deal.get("net") or deal.get("price"), deal.get("currency") or ""
    if net is None:
        return ""
    said = f", {net} {currency} net".replace("  ", " ")
    if because := deal.get("untaxed_because"):
        return f"{said}, no tax: {because}"
    if (gross := deal.get("gross")) is None:
        return said
    return f"{said}, tax {deal['tax']} ({deal['tax_rate_percent']} %), {gross} to be paid"
