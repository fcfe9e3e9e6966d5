"""Six of a kind are sold by description, and collected in two visits.

Eight boxes stand in NORTH; a buyer wants any six of 20 ft, cargo-worthy. Nobody says which six
until the lorries are at the barrier: four on Tuesday, two on Thursday. Meanwhile the depot sells
what the order leaves, and no more than that; and a lorry too many, a reference too often and a box
that does not fit are turned away.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from shared.clock import StandingClock
from tests.support.command_line import CommandLine, GivenMeans
from tests.support.depot import Depot, marks_of
from tests.support.lives import Life
from tracker.services.may_leave import may_leave

if TYPE_CHECKING:
    from pathlib import Path

    from shared.settings import Settings

FLEET = marks_of(8)
TALL = marks_of(1, "HQXU")[0]
WANTED = {"length_ft": 20, "conditions": ["cargo-worthy"]}


@pytest.fixture
def shell(settings: Settings, clock: StandingClock) -> CommandLine:
    return CommandLine(GivenMeans(settings, clock))


@pytest.fixture
def life(depot: Depot, tmp_path: Path) -> Life:
    """Eight boxes that fit, and one of 40 ft."""
    depot.open_depot("NORTH")
    life = Life(depot, tmp_path / "mail")
    for mark in FLEET:
        life.say("2026-03-02 08:00", "gate-in", mark, size_type="22G1")
        life.say("2026-03-02 09:00", "inspection", mark, condition="cargo-worthy")
    life.say("2026-03-02 08:00", "gate-in", TALL, size_type="45G1")
    return life


def sell_six(life: Life) -> str:
    """Take the order; return its id."""
    life.say(
        "2026-03-02 10:00",
        "order",
        None,
        buyer="Ada Quill",
        description=WANTED,
        count=6,
        reference="AQ 6",
        price_each="1450.00",
        currency="EUR",
        paid=True,
    )
    return life.told["order"]


def release(life: Life, at: str, order: str, count: int) -> str:
    """Give a reference for so many, and return it."""
    life.say(at, "release", None, order=order, count=count, reference=None, haulier="Reed Haulage")
    made: str = life.depot.one("SELECT body->'collection'->-1->>'reference' FROM orders")
    return made


def collect(life: Life, day: str, reference: str, *marks: str) -> None:
    """Let boxes pass the barrier, and go."""
    for mark in marks:
        asked = {"reference": reference, "haulier": "Reed Haulage"}
        assert may_leave(life.depot.web, mark, reference=reference).is_given
        life.say(f"{day} 07:30", "clearance", mark, **asked)
        life.say(f"{day} 07:35", "gate-out", mark, **asked)


def state_of(shell: CommandLine, order: str) -> dict[str, Any]:
    shown: dict[str, Any] = shell.ask("order", order)["order"]
    return shown


def test_what_the_order_leaves_is_sold_and_no_more(life: Life) -> None:
    sell_six(life)
    for_two = {"buyer": "Bo Thorn", "intended_use": "storage", "paid": True}
    life.say("2026-03-02 11:00", "sale", FLEET[6], **for_two)
    life.say("2026-03-02 11:05", "sale", FLEET[7], **for_two)
    assert life.ask("2026-03-02 11:10", "sale", FLEET[0], **for_two) == {"sale.promised-to-orders"}
    assert life.ask("2026-03-02 11:15", "reservation", FLEET[0]) == {"sale.promised-to-orders"}
    more = {"buyer": "Bo Thorn", "description": WANTED, "count": 1, "paid": True}
    assert life.ask("2026-03-02 11:20", "order", None, **more) == {"order.too-few-in-stock"}
    life.say("2026-03-02 11:25", "sale", TALL, **for_two)
    life.ends_sound()


def test_six_are_collected_in_two_visits(life: Life, shell: CommandLine) -> None:
    order = sell_six(life)
    tuesday = release(life, "2026-03-02 12:00", order, 4)
    collect(life, "2026-03-03", tuesday, *FLEET[:4])
    assert life.ask("2026-03-03 08:00", "clearance", FLEET[4], reference=tuesday) == {
        "clearance.used-up"
    }
    shown = state_of(shell, order)
    assert (shown["state"], shown["outstanding"]) == ("open", 2)

    asked = {"order": order, "count": 3, "reference": None}
    assert life.ask("2026-03-04 09:00", "release", None, **asked) == {"order.released-too-many"}
    thursday = release(life, "2026-03-04 09:05", order, 2)
    assert life.ask("2026-03-05 07:00", "clearance", TALL, reference=thursday) == {
        "order.unit-does-not-fit"
    }
    wrong = {"reference": thursday, "haulier": "Vale Freight"}
    assert life.ask("2026-03-05 07:10", "clearance", FLEET[4], **wrong) == {
        "clearance.wrong-haulier"
    }
    collect(life, "2026-03-05", thursday, *FLEET[5:7])

    shown = state_of(shell, order)
    assert (shown["state"], shown["outstanding"], shown["buyer"]) == ("filled", 0, "Ada Quill")
    gone = [*FLEET[:4], *FLEET[5:7]]
    assert [unit["mark"] for unit in shown["units"]] == gone
    assert [(note["used"], note["count"]) for note in shown["collection"]] == [(4, 4), (2, 2)]
    kinds = [row["kind"] for row in shell.ask("order", order)["history"]]
    assert kinds == ["order", "release", *["clearance"] * 4, "release", *["clearance"] * 2]
    for mark in gone:
        record = life.record(mark)
        assert (record["presence"], record["breaches"]) == ("away", [])
        assert (record["sale"]["buyer"], record["sale"]["price"]) == ("Ada Quill", "1450.00")
        assert record["sale"]["order"] == order
        assert life.kinds(mark) == ["gate-in", "inspection", "clearance", "gate-out"]
    assert [life.record(mark)["sale"] for mark in (FLEET[4], FLEET[7])] == [None, None]
    said = shell.run("order", order).stdout
    assert f"{tuesday}, used 4 of 4, for Reed Haulage" in said
    assert "20 ft, cargo-worthy" in said
    (listed,) = shell.ask("orders")
    assert (listed["order_id"], listed["state"]) == (order, "filled")
    life.ends_sound()


def test_order_on_credit_is_emptied_and_paid_from_its_page(life: Life) -> None:
    asked = {"buyer": "Ada Quill", "description": WANTED, "count": 2, "on_credit": True}
    life.say("2026-03-02 10:00", "order", None, **asked)
    order = life.told["order"]
    with life.at_pages("2026-03-02 12:00", "NORTH:sales") as desk:
        given = {"kind": "release", "count:int": "2", "haulier": "Reed Haulage"}
        assert desk.post(f"/orders/{order}", data=given).status_code == 303
        page = desk.get(f"/orders/{order}").text
        assert "Give a collection reference" not in page
    reference = life.depot.one("SELECT body->'collection'->-1->>'reference' FROM orders")
    collect(life, "2026-03-03", reference, *FLEET[:2])
    with life.at_pages("2026-03-20 09:00", "NORTH:sales") as desk:
        paid = {"kind": "payment", "pays": order, "paid_on": "2026-03-19"}
        assert desk.post(f"/orders/{order}", data=paid).status_code == 303
        page = desk.get(f"/orders/{order}").text
        assert all(f">{mark}</a>" in page for mark in FLEET[:2])
        assert "<dt>Payment</dt><dd>paid</dd>" in page
    (kept,) = life.depot.rows("SELECT body FROM orders")
    assert (kept["body"]["state"], kept["body"]["paid"]) == ("filled", True)
    life.ends_sound()


def test_lorry_that_breaks_down_before_it_leaves_gives_its_count_back(
    life: Life, shell: CommandLine
) -> None:
    order = sell_six(life)
    tuesday = release(life, "2026-03-02 12:00", order, 1)
    life.say("2026-03-03 07:30", "clearance", FLEET[0], reference=tuesday)
    undone = {"cancels": life.told["clearance"], "reason": "the lorry broke down at the barrier"}
    life.say("2026-03-03 08:00", "cancellation", FLEET[0], **undone)
    assert life.record(FLEET[0])["sale"] is None
    collect(life, "2026-03-04", tuesday, FLEET[1])
    shown = state_of(shell, order)
    assert [unit["mark"] for unit in shown["units"]] == [FLEET[1]]
    assert shown["outstanding"] == 5
    life.ends_sound()
