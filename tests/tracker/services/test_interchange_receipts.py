from uuid import UUID

import pytest

from tests.support.depot import BOX, THIRD, Depot, id_of, report
from tests.support.papers import read_text
from tracker.papers.interchange import Interchange, interchange_pdf
from tracker.services.interchange_receipts import receipt_of
from tracker.services.report import EventUnknownError
from tracker.services.sight import Sight

ALL = Sight(None)
HOLE = {"component": "side-panel", "kind": "holed", "place": "LX2N"}


def receipt(depot: Depot, body: bytes, sight: Sight = ALL) -> Interchange:
    return receipt_of(depot.web, sight, UUID(id_of(body)))


def test_receipt_shows_the_unit_as_it_was_then_whatever_was_done_since(depot: Depot) -> None:
    came = report("gate-in", size_type="22G1", masses={"gross_kg": 30480, "tare_kg": 2230})
    depot.record(came)
    fitted = [{"work": "lock-box", "mass_kg": 9}]
    depot.record(
        report("modification", happened_at="2026-03-02T07:30:00+00:00", fittings=fitted),
        report(
            "marking", happened_at="2026-03-02T07:40:00+00:00", action="re-marked", new_mark=THIRD
        ),
    )
    told = receipt(depot, came)
    assert (told.unit.mark, told.unit.masses.tare_kg) == (BOX, 2230)
    assert told.issue.address.endswith(f"/units/{BOX}")
    assert told.issue.history_seq == 1


def test_receipt_of_arrival_takes_damage_on_the_lorry_of_that_day_only(depot: Depot) -> None:
    came = report("gate-in")
    depot.record(
        came,
        report(
            "inspection",
            happened_at="2026-03-02T07:30:00+00:00",
            damages=[{**HOLE, "on_lorry": True}, {**HOLE, "place": "RX3N"}],
        ),
        report("inspection", happened_at="2026-03-01T07:30:00+00:00", damages=[HOLE]),
    )
    told = receipt(depot, came)
    assert [(seen.place, seen.on_lorry) for seen in told.damages] == [("LX2N", True)]


def test_receipt_of_departure_takes_open_damage_and_not_what_was_mended(depot: Depot) -> None:
    out = report("gate-out", happened_at="2026-03-02T07:50:00+00:00", purpose="transfer")
    depot.record(
        report("gate-in"),
        report("inspection", happened_at="2026-03-02T07:10:00+00:00", damages=[HOLE]),
        report("repair", happened_at="2026-03-02T07:20:00+00:00"),
        report(
            "inspection",
            happened_at="2026-03-02T07:30:00+00:00",
            damages=[{**HOLE, "place": "RX3N"}],
        ),
        out,
        report("repair", happened_at="2026-03-02T07:55:00+00:00"),
    )
    assert [seen.place for seen in receipt(depot, out).damages] == ["RX3N"]


def test_receipt_says_nothing_of_a_state_that_nobody_looked_at(depot: Depot) -> None:
    came = report("gate-in")
    depot.record(came)
    assert receipt(depot, came).outside == "no"
    depot.record(report("inspection", happened_at="2026-03-02T07:30:00+00:00"))
    assert receipt(depot, came).outside == "yes"


@pytest.mark.parametrize("kind", ["gate-in", "gate-out"])
@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("yes", "The outside was looked at and no damage was seen."),
        ("no", "The unit was not looked at"),
        ("not-possible", "The outside could not be looked at"),
    ],
)
def test_receipt_says_whether_the_gate_looked_whatever_an_inspection_did(
    depot: Depot, kind: str, said: str, words: str
) -> None:
    at = report(kind, happened_at="2026-03-02T07:40:00+00:00", outside_looked_at=said)
    arrival = [] if kind == "gate-in" else [report("gate-in")]
    looked = report("inspection", happened_at="2026-03-02T07:45:00+00:00")
    depot.record(*arrival, at, looked)
    assert words in read_text(interchange_pdf(receipt(depot, at)))


def test_receipt_of_damage_told_in_words_never_says_that_none_was_seen(depot: Depot) -> None:
    came = report("gate-in", outside_looked_at="yes", damage_on_lorry="roof torn")
    depot.record(came)
    text = read_text(interchange_pdf(receipt(depot, came)))
    assert "Damage was seen: roof torn." in text
    assert "no damage" not in text


def test_signature_whose_picture_is_gone_is_told_as_signed(depot: Depot) -> None:
    came = report("gate-in", driver="Orin Vale", signature="cd" * 32)
    depot.record(came)
    text = read_text(interchange_pdf(receipt(depot, came)))
    assert "Orin Vale (signed; the picture cdcdcdcdcdcd is not in the store)" in text


def test_refusal_that_was_forgotten_stays_a_refusal(depot: Depot) -> None:
    came = report("gate-in", driver="Orin Vale", signature_refused=" ")
    depot.record(came)
    driver = receipt(depot, came).signings[1]
    assert (driver.state, driver.reason) == ("refused", "no reason given")


def test_corrected_arrival_says_that_it_was_told_otherwise_since(depot: Depot) -> None:
    came = report("gate-in", seal="QX 1")
    depot.record(came)
    right = report("correction", None, corrects=id_of(came), changes={"seal": "QX 2"})
    depot.record(right)
    assert id_of(right) in receipt(depot, came).remarks


def test_receipt_of_anything_else_or_of_a_depot_out_of_sight_is_unknown(depot: Depot) -> None:
    came, seen = report("gate-in"), report("sighting")
    depot.record(came, seen)
    assert receipt(depot, came, Sight(frozenset({"NORTH"}))).direction == "in"
    for body, sight in ((seen, ALL), (came, Sight(frozenset({"SOUTH"})))):
        with pytest.raises(EventUnknownError):
            receipt(depot, body, sight)
