"""A breach is told once: neither lost in a batch, nor told again when two units are joined."""

from datetime import timedelta

from shared.clock import StandingClock
from tests.support.depot import BOX, Depot, findings_of, id_of, report
from tests.support.events import bad_digit

STANDING = "SELECT count(*) FROM alerts WHERE kind = 'breach' AND cleared_at IS NULL"
LETTERS = "SELECT count(*) FROM outbox WHERE subject LIKE 'Breach%'"


def minute(after_eight: int) -> str:
    return f"2026-03-02T08:{after_eight:02}:00+00:00"


def test_breach_is_told_although_another_is_withdrawn_in_the_same_batch(depot: Depot) -> None:
    mistaken = report("gate-out", purpose="sale")
    depot.record(report("gate-in", happened_at="2026-03-02T06:00:00Z"), mistaken)
    assert depot.one(LETTERS) == 1
    again = report("gate-out", purpose="sale", happened_at="2026-03-02T07:30:00Z")
    one_lane = depot.with_settings(lanes=1)
    one_lane.record(
        report("correction", None, corrects=id_of(mistaken), withdrawn=True),
        again,
    )
    assert depot.one(LETTERS) == 2
    told = depot.rows("SELECT cause FROM alerts WHERE kind = 'breach' AND cleared_at IS NULL")
    assert [row["cause"] for row in told] == [f"{id_of(again)}/release.left-without-release"]


def test_breach_of_a_unit_that_turned_out_to_be_another_is_not_mailed_again(depot: Depot) -> None:
    misread = bad_digit(BOX)
    depot.record(report("pre-advice", BOX, happened_at="2026-03-02T05:00:00Z"))
    depot.record(report("gate-in", misread, happened_at="2026-03-02T06:00:00Z"))
    depot.record(report("gate-out", misread, purpose="sale"))
    assert depot.one(LETTERS) == 1
    asked = "SELECT id::text FROM questions WHERE finding = 'mark.check-digit'"
    question = depot.one(asked)
    depot.record(report("answer", None, question=question, settlement="value", right_mark=BOX))
    assert depot.one(LETTERS) == 1
    unit = depot.one("SELECT unit_id FROM alerts WHERE kind = 'breach' AND cleared_at IS NULL")
    assert unit == depot.unit_id(BOX)


def test_departure_with_a_wrong_reference_and_haulier_is_mailed_to_the_manager_at_once(
    depot: Depot, clock: StandingClock
) -> None:
    depot.record(report("gate-in"))
    depot.record(report("sale"), report("release", reference="QUILL-7K4M2P", haulier="Tarn"))
    clock.move(timedelta(minutes=10))
    wrong = {"reference": "WRONG-REF", "haulier": "Nobody Ltd"}
    (receipt,) = depot.record(report("gate-out", happened_at=minute(5), **wrong))
    assert findings_of(receipt) == ["release.left-against-the-answer"]
    (letter,) = depot.rows("SELECT role, body::text FROM outbox WHERE subject LIKE 'Breach%'")
    assert letter["role"] == "on duty, manager"
    assert "went with Nobody Ltd" in letter["body"]
    assert "QUILL" not in letter["body"]


def test_clearance_that_comes_in_after_the_departure_clears_the_alert(
    depot: Depot, clock: StandingClock
) -> None:
    depot.record(report("gate-in"))
    depot.record(report("sale"), report("release", reference="QUILL-7K4M2P"))
    clock.move(timedelta(minutes=10))
    depot.record(report("gate-out", purpose="sale", happened_at=minute(5)))
    assert depot.one(STANDING) == 1
    asked = {"reference": "QUILL-7K4M2P", "happened_at": minute(4)}
    (receipt,) = depot.record(report("clearance", **asked))
    assert receipt.state == "recorded", findings_of(receipt)
    assert depot.one(STANDING) == 0
    assert depot.show(BOX).record["breaches"] == []


def test_clearance_on_an_order_after_the_departure_uses_its_count(
    depot: Depot, clock: StandingClock
) -> None:
    depot.record(report("gate-in", size_type="22G1"))
    wanted = {"buyer": "Orin Vale", "description": {"length_ft": 20}, "count": 1, "paid": True}
    depot.record(order := report("order", None, **wanted))
    depot.record(report("release", None, order=id_of(order), reference="BAND-3XX7QQ"))
    clock.move(timedelta(minutes=10))
    named = {"reference": "BAND-3XX7QQ"}
    (out,) = depot.record(report("gate-out", happened_at=minute(5), **named))
    assert findings_of(out) == ["release.left-without-release"]
    (receipt,) = depot.record(report("clearance", happened_at=minute(4), **named))
    assert receipt.state == "recorded", findings_of(receipt)
    assert depot.show(BOX).record["breaches"] == []
    assert depot.one("SELECT body->>'state' FROM orders") == "filled"
