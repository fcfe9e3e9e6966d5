"""Currency and rate are the house's settings, and stay with a sale when the settings change."""

from tests.support.depot import BOX, OTHER, Depot, report
from tracker.services.orders_view import list_orders
from tracker.services.rebuild import rebuild
from tracker.services.sight import Sight

SOLD = {"price": "1450.00"}
ORDERED = {
    "buyer": "Orin Vale",
    "description": {"length_ft": 20},
    "count": 1,
    "paid": True,
    "price_each": "1450.00",
}


def test_changed_settings_change_no_sale_and_no_order(depot: Depot) -> None:
    then = depot.with_settings(currency="CHF", tax_rate_percent="8.1")
    box = {"size_type": "22G1"}
    then.record(report("gate-in"), report("gate-in", OTHER, **box), report("sale", **SOLD))
    then.record(report("order", None, **ORDERED))
    later = depot.with_settings(currency="EUR", tax_rate_percent="20")
    later.record(report("release", OTHER, order=list_orders(later.web, Sight(None))[0]["order_id"]))
    assert rebuild(later.worker, check_only=True).differing == []
    sale = later.show(BOX).record["sale"]
    assert (sale["currency"], sale["tax_rate_percent"], sale["gross"]) == ("CHF", "8.1", "1567.45")
    (order,) = list_orders(later.web, Sight(None))
    assert (order["currency"], order["tax"], order["gross"]) == ("CHF", "117.45", "1567.45")
    on_order = later.show(OTHER).record["sale"]
    assert (on_order["currency"], on_order["tax_rate_percent"]) == ("CHF", "8.1")
    assert (on_order["price"], on_order["gross"]) == ("1450.00", None)
    history = later.show(BOX).history
    assert history[-1]["resolved"]["terms"] == {"currency": "CHF", "tax_rate_percent": "8.1"}
