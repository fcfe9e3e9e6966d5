"""What holds of every stream of events, whatever was sent: random streams, judged one by one."""

from __future__ import annotations

from datetime import datetime, timedelta
from random import Random

import orjson
import pytest

from schemas.events.base import Decision, Fact
from schemas.events.union import DECISIONS, EVENT, FACTS
from schemas.records import Record, dump_record, load_record
from tests.support.events import START
from tests.support.model import Model, ModelReceipt, doubts_in
from tests.support.streams import Stream
from tracker.judge import fold
from tracker.judge.entry import moment_text

SETTLING = ("answer", "correction")


class Watch:
    """Judges a stream by the model and looks, at each step, for what must never be."""

    def __init__(self, seed: int) -> None:
        self.model = Model()
        self.now = START
        self.stream = Stream(Random(seed), START)  # noqa: S311 - a test's luck, the same each time
        self.rnd = self.stream.rnd
        self.extended: dict[str, Record] = {}
        self.lengths: dict[str, int] = {}

    def run(self, rounds: int, events: int) -> None:
        """Judge so many rounds of so many events."""
        for _ in range(rounds):
            for said in self.stream.make(self.model, events):
                event = EVENT.validate_json(orjson.dumps(said))
                # Lanes drain out of turn: what was received first is not always judged first.
                received_at = self.now - timedelta(minutes=self.rnd.choice((0, 0, 0, 3, 9)))
                if str(event.id) not in self.model.receipts:
                    self.judge(event, received_at)
            self.now += timedelta(minutes=self.rnd.randrange(90))
            self.stream.now = self.now

    def judge(self, event: Fact | Decision, received_at: datetime) -> None:
        """Judge one event, and look at what it came to."""
        before = {unit: self.model.record(unit) for unit in self.model.histories}
        receipt = self.model.judge(event, received_at)
        if receipt.outcome == "recorded":
            assert receipt.unit is not None
            if receipt.unit not in self.model.orders:
                self.look_at_record(event, before.get(receipt.unit, Record("")), receipt)
        else:
            assert event.kind in DECISIONS
            assert any(one["severity"] == "refuse" for one in receipt.findings)
            after = {unit: self.model.record(unit) for unit in self.model.histories}
            assert after == before, "a refused decision changes nothing"
        self.look_at_all()

    def look_at_record(self, event: Fact | Decision, before: Record, receipt: ModelReceipt) -> None:
        """Look at the unit of an event that was recorded."""
        record = self.model.record(str(receipt.unit))
        severities = {one["severity"] for one in receipt.findings}
        assert "refuse" not in severities
        if event.kind in SETTLING:
            return
        asked = [one.finding for one in record.questions if one.event == str(event.id)]
        assert sorted(asked) == sorted(doubts_in(receipt.findings)), "one question a doubt"
        if isinstance(event, Decision):
            assert all(one.startswith("mark.") for one in doubts_in(receipt.findings))
            assert "breach" not in severities
            assert record.last_key[2] == str(event.id), "a decision counts after all it saw"
            look_at_decision(event, before, record)

    def look_at_all(self) -> None:
        """Look at every record there is."""
        records = [self.model.record(unit) for unit in self.model.histories]
        for order in map(self.model.order, self.model.orders):
            assert len(order.allotted) <= order.count
            assert all(0 <= note.used <= note.count for note in order.collection)
            assert sum(note.used for note in order.collection) <= len(order.allotted)
        good = [one.mark for one in records if one.mark is not None and one.mark_state == "good"]
        assert len(good) == len(set(good)), "two units of one mark"
        for record in records:
            ids = [one.id for one in record.questions]
            assert len(ids) == len(set(ids))
            assert load_record(dump_record(record)) == record
            left = fold.settle(self.model.histories[record.unit_id]).entries
            assert bool(left) == bool(record.mark or record.tag), "nobody can name it"
            if record.mark_state == "in-question":
                assert any(one.finding.startswith("mark.") for one in record.questions)
            self.look_at_extending(record)

    def look_at_extending(self, record: Record) -> None:
        """Extend where that may be done, and compare with the record folded anew."""
        unit, whole = record.unit_id, self.model.histories[record.unit_id]
        kept, seen = self.extended.get(unit, Record(unit)), self.lengths.get(unit, 0)
        for at, entry in enumerate(whole[seen:], start=seen + 1):
            if fold.may_extend(kept, entry):
                fold.extend(kept, entry)
            else:
                kept = fold.fold(unit, whole[:at])
        self.extended[unit], self.lengths[unit] = kept, len(whole)
        assert dump_record(kept) == dump_record(record)


def look_at_decision(event: Decision, before: Record, record: Record) -> None:
    """A decision that was granted holds, right after it was granted."""
    said = event.model_dump(mode="json")
    live = {one.id for one in (record.reservation, record.sale, record.release) if one}
    match event.kind:
        case "sale":
            assert before.sale is None
            assert before.mark_state != "in-question"
            assert record.sale is not None
            assert record.sale.id == said["id"]
        case "reservation" | "release":
            assert before.mark_state != "in-question"
            assert said["id"] in live
        case "clearance":
            assert record.release is not None
            assert record.release.cleared
            assert record.sale is not None
            if record.sale.order is None or before.sale is not None:
                assert before.release is not None
                assert not before.release.cleared
        case "cancellation":
            assert said["cancels"] not in live | {order.id for order in record.orders}
        case "take-back" | "payment":
            assert before.sale is not None
            assert (record.sale is None) == (event.kind == "take-back")
            paid_by = {"payment": said["id"]}.get(event.kind)
            assert getattr(record.sale, "paid_by", None) == paid_by
        case "hold":
            assert said["id"] in {hold.id for hold in record.holds}
        case "claim-closed":
            assert said["closes"] in {claim.id for claim in before.claims}
            assert said["closes"] not in {claim.id for claim in record.claims}
        case "hold-cleared":
            assert said["clears"] not in {hold.id for hold in record.holds}


@pytest.mark.parametrize("seed", range(2, 14))
def test_what_must_never_be_never_is(seed: int) -> None:
    watch = Watch(seed)
    watch.run(rounds=15, events=15)
    kinds = {entry.kind for entries in watch.model.histories.values() for entry in entries}
    assert len(kinds & set(FACTS)) > 11
    assert len(kinds & set(DECISIONS)) > 5


@pytest.mark.parametrize("seed", range(100, 104))
def test_record_as_of_a_moment_is_what_took_effect_until_then(seed: int) -> None:
    watch = Watch(seed)
    watch.run(rounds=6, events=15)
    for unit, history in watch.model.histories.items():
        settled = fold.settle(history)
        moments = sorted(entry.effective_at for entry in settled.entries.values())
        assert fold.fold(unit, history, until=moment_text(START + timedelta(days=900))) == (
            watch.model.record(unit)
        )
        for until in moments[:: max(1, len(moments) // 5)]:
            cut = [
                entry
                for entry in history
                if entry.kind in SETTLING or standing(settled, entry) <= until
            ]
            then = fold.fold(unit, history, until=until)
            assert then.last_key[0] <= until
            # Those brought from another unit stand in the answer, so take only plain histories.
            if not any("overrides" in entry.resolved for entry in history):
                expected = fold.fold(unit, cut)
                expected.events = then.events
                assert dump_record(then) == dump_record(expected)


def standing(settled: fold.Settled, entry: fold.Entry) -> str:
    """Return from when an entry counts, after what settled it."""
    return settled.entries.get(entry.event_id, entry).effective_at
