"""A breach is told once: neither lost in a batch, nor told again when two units are joined."""

from tests.support.depot import BOX, Depot, id_of, report
from tests.support.events import bad_digit

LETTERS = "SELECT count(*) FROM outbox WHERE subject LIKE 'Breach%'"


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
