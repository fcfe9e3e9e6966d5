from pathlib import Path

from tests.support.command_line import CommandLine, make_report
from tests.support.depot import BOX, OTHER
from tests.support.papers import read_text

WANTED = {"length_ft": 20, "high": False, "conditions": ["as-is", "cargo-worthy"], "colour": "blue"}


def test_orders_are_listed_and_shown(shell: CommandLine) -> None:
    assert shell.run("orders").stdout.strip() == "No orders."
    asked = {"buyer": "Ada Quill", "description": WANTED, "count": 2, "on_credit": True}
    asked |= {"price_each": "1450.00", "tax_rate_percent": "20"}
    asked |= {"handover": "delivery", "reference": "Their 7/26"}
    for mark in (BOX, OTHER):
        arrival = make_report("gate-in", mark, size_type="22G1", colour="blue")
        shell.send(arrival, make_report("inspection", mark, condition="as-is"))
    placed = make_report("order", **asked)
    del placed["mark"]
    shell.send(placed)
    (listed,) = shell.ask("orders", "--depot", "NORTH")
    assert (listed["order_id"], listed["outstanding"]) == (placed["id"], 2)
    assert shell.ask("orders", "--depot", "SOUTH") == []
    assert shell.ask("orders", "--state", "open", "--reference", "their 7") == [listed]
    assert shell.ask("orders", "--state", "filled") == []
    assert shell.ask("orders", "--reference", "their 8") == []
    assert "20 ft, not 9 ft 6 in high, as-is or cargo-worthy, blue" in shell.run("orders").stdout
    said = shell.run("order", placed["id"]).stdout
    assert "Ada Quill" in said
    assert "on credit" in said
    assert "Their reference" in said
    assert "Their 7/26" in said
    assert "delivery" in said
    assert "2900.00 EUR net, tax 580.00 (20 %), 3480.00 to be paid" in said
    paid = make_report("payment", pays=placed["id"])
    del paid["mark"]
    shell.send(paid)
    assert f"yes, by payment {paid['id']}" in shell.run("order", placed["id"]).stdout
    shown = shell.ask("order", placed["id"])
    assert (shown["order"]["count"], len(shown["history"])) == (2, 2)


def test_note_of_a_reference_is_written_and_its_status_says_whether_it_is_good(
    shell: CommandLine, tmp_path: Path
) -> None:
    shell.send(make_report("gate-in", size_type="22G1", colour="blue"))
    placed = make_report(
        "order", buyer="Ada Quill", description={"length_ft": 20}, count=1, paid=True
    )
    given = make_report("release", order=placed["id"], count=1, reference="COLLECT-71")
    del placed["mark"], given["mark"]
    shell.send(placed, given)
    out = tmp_path / "note.pdf"
    assert shell.run("paper", "collection", "collect-71", "--out", str(out)).exit_code == 0
    assert "COLLECT-71" in read_text(out.read_bytes())
    undone = make_report("cancellation", cancels=given["id"], reason="changed their mind")
    del undone["mark"]
    shell.send(undone)
    assert shell.run("paper", "collection", "COLLECT-71", "--out", str(out)).exit_code == 1
    assert "NOT released" in read_text(out.read_bytes())
    unknown = shell.run("paper", "collection", "NONE", "--out", str(out))
    assert "No order has given the collection reference 'NONE'" in unknown.stderr


def test_unknown_order_is_said_to_be_unknown(shell: CommandLine) -> None:
    result = shell.run("order", "six")
    assert result.exit_code == 1
    assert "No order 'six' is known" in result.stderr
