"""What a sale comes to: the rate that counted when it was judged stays with it."""

from decimal import Decimal
from typing import Any

import pytest

from schemas.records import LiveSale
from tests.support.events import make_entry, make_event, make_mark, make_record
from tests.support.model import Model
from tracker.judge.decisions import judge_decision
from tracker.judge.fold import fold
from tracker.judge.judgement import Rulebook
from tracker.judge.order_fold import fold_order
from tracker.judge.price import TERMS, TOO_FINE, terms_of

HOUSE = Rulebook(currency="CHF", tax_rate_percent=Decimal("8.1"))
LINES = [
    {"what": "louvre-vent", "count": 4, "price_each": "48.00"},
    {"what": "lock-box", "price_each": "55.5"},
]


def sold(resolved: dict[str, Any] | None = None, **said: object) -> LiveSale:
    """Return the sale of a unit, as its record keeps it."""
    terms = {TERMS: terms_of(HOUSE, None)} if resolved is None else resolved
    record = fold("u", [make_entry("gate-in"), make_entry("sale", resolved=terms, at=1, **said)])
    assert record.sale is not None
    return record.sale


def money(sale: LiveSale) -> tuple[str | None, ...]:
    return (sale.currency, sale.tax_rate_percent, sale.net, sale.tax, sale.gross)


def test_sale_is_taxed_by_the_house_unless_it_says_otherwise() -> None:
    assert money(sold(price="1000")) == ("CHF", "8.1", "1000.00", "81.00", "1081.00")
    own = sold(price="1000", currency="EUR", tax_rate_percent="19")
    assert money(own) == ("EUR", "19", "1000.00", "190.00", "1190.00")


def test_lines_are_sold_on_top_of_the_unit() -> None:
    sale = sold(price="1450.00", lines=LINES)
    assert money(sale) == ("CHF", "8.1", "1697.50", "137.50", "1835.00")
    assert sale.lines == [
        {"what": "louvre-vent", "count": 4, "price_each": "48.00", "net": "192.00"},
        {"what": "lock-box", "count": 1, "price_each": "55.50", "net": "55.50"},
    ]


def test_no_tax_is_charged_only_where_the_sale_says_why() -> None:
    sale = sold(price="1000", intended_use="export", untaxed_because="export, entry to follow")
    assert money(sale) == ("CHF", "0", "1000.00", "0.00", "1000.00")
    assert sale.untaxed_because == "export, entry to follow"
    taxed = sold(price="1000", intended_use="export")
    assert money(taxed) == ("CHF", "8.1", "1000.00", "81.00", "1081.00")
    zero = sold(price="1000", tax_rate_percent="0")
    assert money(zero) == ("CHF", "0", "1000.00", "0.00", "1000.00")


def test_sale_without_a_price_comes_to_nothing_known() -> None:
    assert money(sold()) == (None, None, None, None, None)


def test_sale_of_before_rates_were_kept_says_nothing_of_tax() -> None:
    old = sold({}, price="1450.00", currency="EUR")
    assert money(old) == ("EUR", None, "1450.00", None, None)


def test_house_terms_are_looked_up_when_the_sale_is_judged() -> None:
    event = make_event("sale", price="1000")
    judgement = judge_decision(event, make_record(), event.happened_at, HOUSE)  # type: ignore[arg-type]
    assert judgement.resolved[TERMS] == {"currency": "CHF", "tax_rate_percent": "8.1"}


YEN = Rulebook(currency="JPY", tax_rate_percent=Decimal(10))
DINAR = Rulebook(currency="KWD", tax_rate_percent=Decimal("2.5"))


def judged(kind: str, rules: Rulebook, **said: object) -> list[str]:
    record = make_record(presence="in-depot", depot="NORTH")
    event = make_event(kind, **said)
    found = judge_decision(event, record, event.happened_at, rules).findings  # type: ignore[arg-type]
    return [one.message for one in found if one.id == TOO_FINE.id]


@pytest.mark.parametrize(
    ("rules", "said", "sums"),
    [
        (YEN, {"price": "15005"}, ("JPY", "10", "15005", "1501", "16506")),
        (YEN, {"price": "15004.00"}, ("JPY", "10", "15004", "1500", "16504")),
        (YEN, {"price": "10.50", "currency": "EUR"}, ("EUR", "10", "10.50", "1.05", "11.55")),
        (HOUSE, {"price": "100", "currency": "XOF"}, ("XOF", "8.1", "100", "8", "108")),
        (DINAR, {"price": "450.125"}, ("KWD", "2.5", "450.125", "11.253", "461.378")),
        (
            DINAR,
            {"price": "1", "lines": [{"what": "lock-box", "count": 3, "price_each": "0.005"}]},
            ("KWD", "2.5", "1.015", "0.025", "1.040"),
        ),
    ],
)
def test_sums_are_rounded_to_the_minor_unit_of_their_currency(
    rules: Rulebook, said: dict[str, Any], sums: tuple[str, ...]
) -> None:
    assert judged("sale", rules, **said) == []
    terms = {TERMS: terms_of(rules, said.get("currency"))}
    assert money(sold(terms, **said)) == sums
    assert terms_of(HOUSE, "EUR") == terms_of(HOUSE, None)


@pytest.mark.parametrize(
    ("kind", "rules", "said", "told"),
    [
        ("sale", YEN, {"price": "15005.50"}, ["15005.50 cannot be paid in JPY, whose amounts have "
          "no decimals. Give such an amount, or the currency that is meant."]),
        ("sale", HOUSE, {"price": "1.005"}, ["1.005 cannot be paid in CHF, whose amounts have at "
          "most two decimals. Give such an amount, or the currency that is meant."]),
        ("sale", DINAR, {"price": "1.005"}, []),
        ("sale", YEN, {"price": "7", "lines": [{"what": "vent", "price_each": "0.5"}]},
         ["0.5 cannot be paid in JPY, whose amounts have no decimals. Give such an amount, or the "
          "currency that is meant."]),
        ("claim-closed", HOUSE, {"closes": "x", "outcome": "paid", "amount": "3.5",
         "currency": "KRW"}, ["3.5 cannot be paid in KRW, whose amounts have no decimals. Give "
          "such an amount, or the currency that is meant."]),
        ("reservation", YEN, {}, []),
    ],
)  # fmt: skip
def test_amount_that_is_finer_than_its_currency_is_refused(
    kind: str, rules: Rulebook, said: dict[str, Any], told: list[str]
) -> None:
    assert judged(kind, rules, **said) == told


def test_currency_put_right_brings_its_decimals_along() -> None:
    model = Model()
    model.tell("gate-in")
    model.rules = HOUSE
    sale = model.tell("sale", price="100.50", currency="EUR")
    event = model.histories[str(sale.unit)][-1].event_id

    def put_right(**changes: str) -> str:
        return model.tell("correction", corrects=event, withdrawn=False, changes=changes).outcome

    assert put_right(currency="JPY") == "refused"
    assert put_right(currency="JPY", price="100") == "recorded"
    found = model.unit_of(make_mark()).sale
    assert found is not None
    assert money(found) == ("JPY", "8.1", "100", "8", "108")
    assert put_right(currency="EUR", price="100.50") == "recorded"
    again = model.unit_of(make_mark()).sale
    assert again is not None
    assert money(again) == ("EUR", "8.1", "100.50", "8.14", "108.64")


def test_order_in_a_currency_without_decimals_is_refused_or_rounded() -> None:
    model = Model(rules=YEN)
    assert model.tell("gate-in", size_type="22G1").outcome == "recorded"
    wanted = {"count": 1, "description": {"length_ft": 20}}
    refused = model.tell("order", price_each="33.33", **wanted)
    assert [one["id"] for one in refused.findings] == [TOO_FINE.id]
    placed = model.tell("order", price_each="33", **wanted)
    assert model.order(str(placed.unit)).gross == "36"


def test_price_put_right_keeps_the_rate_of_the_sale() -> None:
    model = Model()
    model.tell("gate-in")
    model.rules = HOUSE
    sale = model.tell("sale", price="100", lines=LINES)
    assert sale.outcome == "recorded"
    model.rules = Rulebook(tax_rate_percent=Decimal(25))
    event = model.histories[str(sale.unit)][-1].event_id
    changes = {"price": "200", "lines": LINES[1:]}
    put_right = model.tell("correction", corrects=event, withdrawn=False, changes=changes)
    assert put_right.outcome == "recorded"
    found = model.unit_of(make_mark()).sale
    assert found is not None
    assert money(found) == ("CHF", "8.1", "255.50", "20.70", "276.20")


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ({"price_each": "33.33"}, ("33.33", "8.1", "99.99", "8.10", "108.09")),
        (
            {"price_each": "33.33", "untaxed_because": "export"},
            ("33.33", "0", "99.99", "0.00", "99.99"),
        ),
        ({}, (None, None, None, None, None)),
    ],
)
def test_order_is_taxed_once_for_all_its_units(
    said: dict[str, object], expected: tuple[str | None, ...]
) -> None:
    entry = make_entry("order", count=3, resolved={TERMS: terms_of(HOUSE, None)}, **said)
    order = fold_order("o", [entry])
    assert (order.price_each, order.tax_rate_percent, order.net, order.tax, order.gross) == expected
