import threading
from concurrent.futures import ThreadPoolExecutor
from uuid import NAMESPACE_URL, uuid5

import orjson
import pytest

from tests.support.depot import BOX, OTHER, Depot, id_of, lane_of, marks_of, report, states
from tracker.services.accept import MOST_AT_ONCE, TooManyEventsError, accept
from tracker.services.context import Context
from tracker.services.drain import drain


def test_receipt_of_a_new_event_says_waiting_and_the_event_is_committed(depot: Depot) -> None:
    body = report("gate-in")
    (receipt,) = depot.send(body)
    assert (receipt.state, receipt.accepted, receipt.again) == ("waiting", True, False)
    assert str(receipt.id) == id_of(body)
    assert receipt.verdict is None
    kept = depot.one("SELECT body FROM intake")
    assert kept == orjson.loads(body) | {"schema_version": 1} | {
        name: kept[name] for name in ("purpose", "source", "photos", "laden", "happened_at")
    }


def test_same_event_again_gets_the_same_receipt_before_and_after_its_verdict(
    depot: Depot,
) -> None:
    body = report("gate-in")
    (first,) = depot.send(body)
    (again,) = depot.send(body)
    assert again == first.model_copy(update={"again": True})
    depot.drain_all()
    (then,) = depot.send(body)
    (later,) = depot.send(body)
    assert then == later
    assert (then.state, then.again) == ("recorded", True)
    assert then.verdict is not None
    assert (then.verdict.unit, then.verdict.seq) == (depot.unit_id(), 1)
    assert depot.one("SELECT count(*) FROM intake") == 0
    assert depot.one("SELECT count(*) FROM history") == 1


def test_same_content_in_other_spelling_is_the_same_event(depot: Depot) -> None:
    said = orjson.loads(report("gate-in"))
    spaced = orjson.dumps(dict(reversed(said.items())), option=orjson.OPT_INDENT_2)
    elsewhere = orjson.dumps(said | {"laden": "empty", "purpose": "purchase", "source": "api"})
    depot.send(orjson.dumps(said))
    assert states(depot.send(spaced, elsewhere)) == ["waiting", "waiting"]


@pytest.mark.parametrize("judged", [False, True])
def test_same_id_with_other_content_is_a_conflict_and_changes_nothing(
    depot: Depot, judged: bool
) -> None:
    body = report("restow", slot="A1-2")
    depot.send(body)
    if judged:
        depot.drain_all()
    (receipt,) = depot.send(report("restow", slot="B2-1", id=id_of(body)))
    assert (receipt.state, receipt.accepted) == ("conflict", False)
    assert "Send it with a new id" in receipt.error
    depot.drain_all()
    assert depot.show().record["slot"] == "A1-2"
    assert len(depot.show().history) == 1


def test_one_list_with_an_event_twice_and_a_conflict_answers_each(depot: Depot) -> None:
    body = report("restow", slot="A1-2")
    other = report("restow", slot="B2-1", id=id_of(body))
    receipts = depot.send(body, body, other, report("restow", OTHER))
    assert states(receipts) == ["waiting", "waiting", "conflict", "waiting"]
    assert [receipt.again for receipt in receipts] == [False, True, True, False]
    assert depot.one("SELECT count(*) FROM intake") == 2


def test_what_cannot_be_read_is_kept_as_it_came_and_the_others_go_on(depot: Depot) -> None:
    broken = b'{"kind": "gate-in", "mark": '
    unknown = report("gate-inn")
    wrong_type = report("restow", slot=7)
    receipts = depot.send(broken, report("gate-in"), unknown, wrong_type)
    assert states(receipts) == ["held", "waiting", "held", "held"]
    says = [receipt.error for receipt in receipts]
    assert "no JSON" in says[0]
    assert "'gate-inn' is unknown" in says[2]
    assert "slot" in says[3]
    kept = depot.rows("SELECT id, body, error FROM unreadable")
    assert {row["id"]: bytes(row["body"]) for row in kept} == {
        receipts[0].id: broken,
        receipts[2].id: unknown,
        receipts[3].id: wrong_type,
    }
    (again,) = depot.send(broken)
    assert (again.id, again.again) == (receipts[0].id, True)


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"\x00",
        b"\xff\xfe{}",
        b"[]",
        b"[" * 5000 + b"]" * 5000,
        b'{"kind": "gate\\u0000in"}',
        b'{"kind": "gate-in", "sl\\u0000ot": "A1"}',
        b'{"kind": "gate-in", "sl\\ud800ot": "A1"}',
        b'{"kind": "' + b"x" * 200_000 + b'"}',
        b'{"' + b"y" * 200_000 + b'": 1, "kind": "gate-in"}',
    ],
    ids=["empty", "nul", "utf16", "list", "deep", "nul-kind", "nul-name", "half", "long", "wide"],
)
def test_hostile_bytes_are_held_and_the_event_beside_them_is_taken(
    depot: Depot, body: bytes
) -> None:
    receipts = depot.send(body, report("gate-in"))
    assert states(receipts) == ["held", "waiting"]
    assert len(receipts[0].error) < 3000
    assert bytes(depot.one("SELECT body FROM unreadable")) == body


def test_text_with_nul_in_a_field_is_held_at_once(depot: Depot) -> None:
    bodies = [
        report("gate-in", mark="ZZZU\x003000"),
        report("gate-in", seal="S\x00"),
        report("gate-in", reported_by="Ada\x00"),
    ]
    assert states(depot.send(*bodies)) == ["held"] * 3


def test_text_with_nul_inside_a_correction_never_gets_into_a_history(depot: Depot) -> None:
    arrival = report("gate-in")
    hidden = report("correction", None, corrects=id_of(arrival), changes={"note": "a\x00b"})
    (first, then, last) = depot.record(arrival, hidden, report("restow"))
    assert (first.state, last.state) == ("recorded", "recorded")
    assert then.state in ("held", "refused")
    assert [row["kind"] for row in depot.show().history] == ["gate-in", "restow"]


def test_more_than_may_come_at_once_are_refused_whole(depot: Depot) -> None:
    with pytest.raises(TooManyEventsError) as fault:
        depot.send(*[b"{}"] * (MOST_AT_ONCE + 1))
    assert fault.value.count == MOST_AT_ONCE + 1
    assert depot.one("SELECT count(*) FROM unreadable") == 0


def test_nothing_at_all_gets_no_receipts(depot: Depot) -> None:
    assert depot.send() == []


class NotingAnnouncer:
    """Notes what it is asked to announce, and what was committed then."""

    def __init__(self, depot: Depot) -> None:
        self.depot = depot
        self.told: list[tuple[list[int], int]] = []

    def announce(self, lanes: list[int]) -> None:
        """Note the lanes, and what has been committed."""
        waiting = self.depot.one("SELECT count(*) FROM intake")
        self.told.append((list(lanes), waiting))

    def begin(self, lane: int) -> None:
        """Fail: only a drain begins a lane."""
        raise AssertionError("intake drains nothing")


def test_lanes_of_new_events_are_announced_after_the_commit_and_only_theirs(depot: Depot) -> None:
    announcer = NotingAnnouncer(depot)
    announcing = depot.with_announcer(announcer)
    body = report("gate-in")
    announcing.send(body)
    lane = depot.one("SELECT lane FROM intake")
    announcing.send(body)
    announcing.send(b"nothing")
    assert announcer.told == [([lane], 1), ([], 1), ([], 1)]


def test_same_list_from_many_senders_at_once_is_taken_once(depot: Depot) -> None:
    bodies = [report("restow", mark) for mark in (BOX, OTHER) for _ in range(40)]
    together = threading.Barrier(6)

    def send(part: int) -> list[str]:
        together.wait()
        mine = bodies if part % 2 else bodies[::-1]
        return [receipt.state for receipt in depot.send(*mine) if not receipt.again]

    with ThreadPoolExecutor(6) as pool:
        new = [state for states_of_one in pool.map(send, range(6)) for state in states_of_one]
    assert len(new) == len(bodies)
    assert depot.one("SELECT count(*) FROM intake") == len(bodies)


def test_resend_racing_with_its_own_drain_records_once(depot: Depot) -> None:
    bodies = [report("restow", mark) for mark in (BOX, OTHER) for _ in range(60)]
    depot.send(*bodies)

    def resend(_: int) -> set[str]:
        return set(states(depot.send(*bodies)))

    with ThreadPoolExecutor(3) as pool:
        draining = pool.submit(depot.drain_all)
        heard = set().union(*pool.map(resend, range(6)))
        draining.result()
    depot.drain_all()
    assert heard <= {"waiting", "recorded"}
    assert depot.one("SELECT count(*) FROM history") == len(bodies)
    assert depot.one("SELECT count(*) FROM intake") == 0


def test_digest_depends_on_the_house_key(depot: Depot) -> None:
    body = report("gate-in")
    depot.send(body)
    other = depot.web.settings.changed(secret_key="another key, of thirty-two letters or more")
    stranger = Context(depot.web.engine, other, depot.web.clock)
    assert states(Depot(stranger, depot.worker, depot.owner).send(body)) == ["conflict"]


def test_events_of_one_list_are_judged_in_its_order_whatever_their_ids(depot: Depot) -> None:
    ids = sorted((uuid5(NAMESPACE_URL, str(number)) for number in range(40)), reverse=True)
    bodies = [report("gate-in", id=str(ids[0]))]
    bodies += [report("restow", id=str(one), slot=f"A{turn}") for turn, one in enumerate(ids[1:])]
    depot.record(*bodies)
    assert [row["id"] for row in depot.show().history] == [id_of(body) for body in bodies]


def test_event_reported_by_hand_does_not_queue_behind_a_file(depot: Depot) -> None:
    accept(depot.web, [report("gate-in", mark) for mark in marks_of(40)], bulk=True)
    by_hand = report("gate-in")
    depot.send(by_hand)
    assert drain(depot.worker, lane_of(BOX)).recorded == 1
    assert depot.outcomes() == {id_of(by_hand): "recorded"}
    depot.drain_all()
    assert set(depot.outcomes().values()) == {"recorded"}
    assert len(depot.outcomes()) == 41


def test_file_is_judged_whatever_the_size_of_a_batch(depot: Depot) -> None:
    one_by_one = depot.with_settings(drain_batch=1)
    accept(one_by_one.web, [report("gate-in", mark) for mark in marks_of(3)], bulk=True)
    one_by_one.drain_all()
    assert list(depot.outcomes().values()) == ["recorded"] * 3
