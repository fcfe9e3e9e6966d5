from tests.support.events import make_payload
from tracker.judge.deliveries import tick_off
from tracker.judge.entry import Entry

ADVISED = {
    "batch": "B-1",
    "size_type": "22G1",
    "masses": {"tare_kg": 2230},
    "manufactured_in": "2026-01",
    "approval_reference": "GB-QX-1",
    "colour": "grey",
}


def said(kind: str, at: int, **changes: object) -> Entry:
    """Return an entry of the unit's history, `at` minutes after the start."""
    payload = make_payload(kind, at=at, **changes)
    return Entry(payload["id"], kind, payload["happened_at"], payload)


def advised(at: int = 0, **changes: object) -> Entry:
    return said("pre-advice", at, **(ADVISED | changes))


def correcting(entry: Entry, at: int, **changes: object) -> Entry:
    """Return a correction that puts other values into an entry."""
    instead = entry.as_override() | {"payload": entry.payload | changes}
    payload = make_payload("correction", at=at, corrects=entry.event_id)
    resolved = {"overrides": {entry.event_id: instead}}
    return Entry(payload["id"], "correction", payload["happened_at"], payload, resolved=resolved)


def differing(*history: Entry) -> dict[str, tuple[str, str]]:
    tick = tick_off(history, "B-1")
    assert tick is not None
    assert tick.state == "arrived"
    return {one.field: (one.advised, one.read) for one in tick.differs}


def state(*history: Entry, batch: str = "B-1") -> str | None:
    tick = tick_off(history, batch)
    return None if tick is None else tick.state


def test_unit_is_missing_until_it_comes() -> None:
    assert state(advised()) == "missing"
    assert state(advised(), said("gate-in", 9)) == "arrived"


def test_unit_that_names_the_batch_unannounced_is_unexpected() -> None:
    assert state(said("gate-in", 9, batch="B-1")) == "unexpected"
    assert state(said("gate-in", 9)) is None
    assert state(advised(batch="B-2"), said("gate-in", 9), batch="B-1") is None


def test_unit_seen_on_the_ground_without_a_gate_in_has_come() -> None:
    seen = said("sighting", 30)
    tick = tick_off([advised(), seen], "B-1")
    assert tick is not None
    assert (tick.state, tick.arrived_by) == ("arrived", seen.event_id)


def test_what_is_reported_from_afar_is_no_arrival() -> None:
    assert state(advised(), said("complaint", 5), said("delivery", 6)) == "missing"


def test_unit_announced_again_after_it_came_is_missing_again() -> None:
    again = [advised(), said("gate-in", 9), said("gate-out", 20), advised(30)]
    assert state(*again) == "missing"
    assert state(*again, said("gate-in", 40)) == "arrived"


def test_unit_of_another_batch_next_time_stays_arrived_in_the_first() -> None:
    history = [advised(), said("gate-in", 9), said("gate-out", 20), advised(30, batch="B-2")]
    assert state(*history) == "arrived"
    assert state(*history, batch="B-2") == "missing"


def test_unit_that_comes_under_another_batch_has_come_and_differs() -> None:
    history = [advised(), said("gate-in", 9, batch="B-2")]
    assert differing(*history) == {"batch": ("B-1", "B-2")}
    assert state(*history, batch="B-2") == "unexpected"


def test_unit_that_comes_to_another_depot_differs() -> None:
    assert differing(advised(), said("gate-in", 9, depot="SOUTH")) == {"depot": ("NORTH", "SOUTH")}


def test_each_value_read_otherwise_differs_once_from_the_first_reading() -> None:
    found = differing(
        advised(),
        said("gate-in", 9, size_type="45G1", colour="GREY", masses={"tare_kg": 2300}),
        said(
            "inspection",
            20,
            masses={"tare_kg": 2400},
            plate={"manufactured_in": "2025-12", "approval_reference": "GB-QX-1"},
        ),
    )
    assert found == {
        "size_type": ("22G1", "45G1"),
        "masses.tare_kg": ("2230", "2300"),
        "manufactured_in": ("2026-01", "2025-12"),
    }


def test_what_work_made_of_it_later_does_not_differ() -> None:
    history = [
        advised(),
        said("gate-in", 9),
        said("modification", 20),
        said("inspection", 30, masses={"tare_kg": 2242}),
    ]
    assert differing(*history) == {}


def test_corrected_report_counts_as_corrected() -> None:
    came = said("gate-in", 9, batch="B-2", colour="blue")
    right = correcting(came, 60, batch="B-1", colour="grey")
    assert differing(advised(), came, right) == {}
    assert state(came, right) == "unexpected"
    assert state(came, right, batch="B-2") is None
