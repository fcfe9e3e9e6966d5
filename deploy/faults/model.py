"""The reference model: judges events one by one in memory, the slow and plain way.

It shares the rules with the real thing (`judge_*` and `fold`) and nothing else: what a mark means,
which history an event stands in, what an answer moves and what is told are found here by looking
through everything there is. Every record is folded anew from its whole history each time it is
asked for; nothing is ever extended, cached, claimed or written.

Long because it is read from top to bottom beside what it stands for, and shares nothing with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from uuid import UUID

import orjson

from schemas.events.base import Decision, Fact
from schemas.events.deal import (
    Cancellation,
    Order,
    PassingOn,
    Payment,
    Release,
    Reservation,
    Sale,
)
from schemas.events.gate import Clearance, GateIn
from schemas.events.settling import Answer, Correction
from schemas.events.workshop import Marking
from schemas.findings import Finding, Severity
from schemas.orders import OrderRecord
from schemas.records import Record, is_free
from shared.misreads import KnownMarkSets
from tracker.judge import days, order_rules, price, settling_rules
from tracker.judge.decisions import (
    identify,
    judge_decision,
    refuse_two_units,
    refuse_unknown,
)
from tracker.judge.entry import Entry, moment_after, moment_text
from tracker.judge.facts import doubt_taken_marks, doubt_taken_tag, judge_fact
from tracker.judge.fold import fold, fold_telling
from tracker.judge.judgement import Judgement, Rulebook
from tracker.judge.leaving import as_it_left
from tracker.judge.order_fold import fold_order
from tracker.judge.orders import (
    Driver,
    find_note,
    judge_allotment,
    judge_collection,
    judge_order,
    judge_release_on_order,
    leaves_orders_short,
    sale_of,
    what_opens,
)
from tracker.judge.passing import judge_passing_on_order
from tracker.judge.payment import judge_payment_of_order
from tracker.judge.presence import has_left_its_tag
from tracker.judge.promises import Promises, count_kinds
from tracker.judge.release_rules import override
from tracker.judge.settling import Settling, Stand, judge_answer, judge_correction
from tracker.judge.subject import reference_subject, subject_of_mark


@dataclass(frozen=True, slots=True)
class ModelReceipt:
    """What the sender of an event is told."""

    outcome: str
    unit: str | None
    seq: int | None
    findings: list[dict[str, Any]]


@dataclass(slots=True)
class Model:
    """All units there are. Feed it events in the order they were recorded."""

    rules: Rulebook = field(default_factory=Rulebook)
    histories: dict[str, list[Entry]] = field(default_factory=dict)
    meaning: dict[str, str] = field(default_factory=dict)
    stands_in: dict[str, str] = field(default_factory=dict)
    receipts: dict[str, ModelReceipt] = field(default_factory=dict)
    orders: dict[str, list[Entry]] = field(default_factory=dict)
    """The histories of orders by quantity."""
    make_reference: Callable[[UUID], str] = "MADE-{}".format

    def unit_of(self, mark: str) -> Record:
        """Return the record that a mark leads to."""
        return self.record(self.meaning[mark])

    def learn_owners(self) -> None:
        """Know the owner codes of all marks there are now; a batch knows those before it."""
        codes = frozenset(mark[:3] for mark in self.meaning if mark[:3].isalpha())
        self.rules = replace(self.rules, known=KnownMarkSets(owner_codes=codes))

    def record(self, unit: str) -> Record:
        """Return a unit's record, folded anew."""
        return fold(unit, self.histories[unit])

    def order(self, order: str) -> OrderRecord:
        """Return an order, folded anew."""
        return fold_order(order, self.orders[order])

    def promises(self, depot: str | None, at: datetime) -> Promises:
        """Return what a depot has free at a moment and what its orders wait for."""
        records = [self.record(unit) for unit in self.histories]
        free = [one for one in records if one.depot == depot and is_free(one, at)]
        placed = [self.order(order) for order in self.orders]
        return Promises(
            count_kinds(free), [one for one in placed if one.depot == depot and one.outstanding], at
        )

    def questions(self) -> dict[str, str]:
        """Return every open question with the unit it is about."""
        return {
            question.id: unit for unit in self.histories for question in self.record(unit).questions
        }

    def judge(self, event: Fact | Decision, received_at: datetime) -> ModelReceipt:
        """Judge one event; one that has its receipt already gets the same."""
        known = self.receipts.get(str(event.id))
        if known is None:
            wrong = days.amiss(event, received_at, self.rules) if _is_by_quantity(event) else []
            known = (
                ModelReceipt("refused", None, None, _plain(wrong))
                if refuses(wrong)
                else self._judge_new(event, received_at)
            )
            self.receipts[str(event.id)] = known
        return known

    def _judge_new(self, event: Fact | Decision, received_at: datetime) -> ModelReceipt:
        match event:
            case Answer():
                return self._answer(event, received_at)
            case Correction():
                return self._correct(event, received_at)
            case Fact():
                return self._take_fact(event, received_at)
            case Order():
                return self._place(event, received_at)
            case Release() if event.order is not None:
                return self._release_on_order(event, received_at)
            case Clearance() if self._order_by(event.reference) is not None:
                return self._collect(event, received_at)
            case PassingOn() if (order := self._order_by(event.reference)) is not None:
                return self._pass_on_order(event, order, received_at)
            case Payment() if event.mark is None and event.tag is None:
                return self._pay_order(event, received_at)
            case Cancellation() if self._is_about_order(event):
                return self._cancel_order(event, received_at)
            case _:
                return self._decide(event, received_at)

    def _place(self, event: Order, received_at: datetime) -> ModelReceipt:
        found = override(
            judge_order(event, self.promises(event.depot, received_at)), event.override_reason
        )
        found += price.too_fine(event, self.rules)
        if refuses(found):
            return ModelReceipt("refused", None, None, _plain(found))
        self.orders[str(event.id)] = []
        terms = {price.TERMS: price.terms_of(self.rules, event.currency)}
        return self._enter_order(event, str(event.id), received_at, found, terms)

    def _release_on_order(self, event: Release, received_at: datetime) -> ModelReceipt:
        named = str(event.order)
        order = self.order(named) if named in self.orders else None
        reference = event.reference or self.make_reference(event.id)
        taken = event.reference is not None and reference_subject(reference) in self.meaning
        not_given = [order_rules.REFERENCE_TAKEN.finding("reference", seen=reference)] * taken
        if event.mark is None and event.tag is None:
            found = judge_release_on_order(event, order, received_at)
            found = override(found, event.override_reason) + not_given
            if refuses(found):
                at = named if order is not None else None
                return ModelReceipt("refused", at, None, _plain(found))
            self.meaning[reference_subject(reference)] = named
            return self._enter_order(event, named, received_at, found, {"reference": reference})
        unit, judgement = self._identify(event)
        if unit is None or judgement.is_refused:
            return ModelReceipt("refused", unit, None, _plain(judgement.findings))
        if order is None:
            unknown = order_rules.NO_ORDER.finding("order", seen=named)
            return ModelReceipt("refused", unit, None, _plain([unknown]))
        record = self.record(unit)
        found = judge_allotment(
            record,
            order,
            self.promises(record.depot, received_at),
            received_at,
            self.rules,
            authority=event.marks_authority,
        )
        if event.count != 1:
            found.append(order_rules.ONE_UNIT.finding("count", seen=event.count))
        judgement.add(override(found, event.override_reason) + not_given)
        if refuses(judgement.findings):
            return ModelReceipt("refused", unit, None, _plain(judgement.findings))
        self.meaning[reference_subject(reference)] = unit
        return self._enter_both(event, unit, named, received_at, judgement, reference)

    def _identify(self, event: Decision) -> tuple[str | None, Judgement]:
        unit, other = self._units_of(event)
        if unit is None:
            return None, refuse_unknown(event)
        if other is not None:
            return unit, refuse_two_units(event)
        return unit, identify(event, self.record(unit), self.rules)

    def _order_by(self, reference: str) -> str | None:
        means = self.meaning.get(reference_subject(reference))
        return means if means in self.orders else None

    def _collect(self, event: Clearance, received_at: datetime) -> ModelReceipt:
        unit, judgement = self._identify(event)
        if unit is None or judgement.is_refused:
            return ModelReceipt("refused", unit, None, _plain(judgement.findings))
        named = str(self._order_by(event.reference))
        record = as_it_left(self.record(unit), event)
        driver = Driver(event.reference, event.haulier)
        promises = self.promises(record.depot, received_at)
        found = judge_collection(
            driver, record, self.order(named), promises, received_at, self.rules
        )
        judgement.add(override(found, event.override_reason))
        if refuses(judgement.findings):
            return ModelReceipt("refused", unit, None, _plain(judgement.findings))
        note = find_note(self.order(named), event.reference)
        if note is None:
            raise LookupError(f"order {named} has no reference {event.reference}")
        judgement.resolved |= what_opens(note)
        return self._enter_both(event, unit, named, received_at, judgement, note.reference)

    def _pass_on_order(self, event: PassingOn, order: str, received_at: datetime) -> ModelReceipt:
        found = judge_passing_on_order(event, self.order(order), received_at)
        if refuses(found):
            return ModelReceipt("refused", order, None, _plain(found))
        reference = self.make_reference(event.id)
        self.meaning[reference_subject(reference)] = order
        return self._enter_order(event, order, received_at, found, {"reference": reference})

    def _pay_order(self, event: Payment, received_at: datetime) -> ModelReceipt:
        named = str(event.pays)
        order = self.order(named) if named in self.orders else None
        found = judge_payment_of_order(event, order)
        if refuses(found):
            at = None if order is None else named
            return ModelReceipt("refused", at, None, _plain(found))
        return self._enter_order(event, named, received_at, found, {})

    def _is_about_order(self, event: Cancellation) -> bool:
        unnamed = event.mark is None and event.tag is None
        return unnamed or self._sold_on_order(event) is not None

    def _sold_on_order(self, event: Cancellation) -> str | None:
        for unit in (*self._all_named(event), self.stands_in.get(str(event.cancels))):
            if unit is not None:
                sold = self.record(unit).sale
                on_order = sold is not None and sold.order and sold.id == str(event.cancels)
                return unit if on_order else None
        return None

    def _all_named(self, event: Fact | Decision) -> list[str]:
        named = [subject for _, subject in self._names_in(event)]
        return [self.meaning[subject] for subject in named if subject in self.meaning][:1]

    def _cancel_order(self, event: Cancellation, received_at: datetime) -> ModelReceipt:
        target = str(event.cancels)
        if (unit := self._sold_on_order(event)) is not None:
            record = self.record(unit)
            named = str(record.sale.order if record.sale else None)
            at = self._moment(event, received_at, named, unit)
            judgement = Judgement()
            if event.mark is not None or event.tag is not None:
                judgement = self._identify(event)[1]
            if judgement.is_refused:
                return ModelReceipt("refused", unit, None, _plain(judgement.findings))
            receipt = self._enter(event, unit, judgement, at)
            reference = record.release.reference if record.release else ""
            returns = {"returns": unit, "reference": reference}
            self.orders[named].append(_entry(event, at, [], returns))
            return receipt
        bears = [
            name
            for name, entries in self.orders.items()
            if target == name or target in {one.event_id for one in entries if _is_own(one)}
        ]
        if not bears:
            unknown = order_rules.NO_ORDER.finding("cancels", seen=target)
            return ModelReceipt("refused", None, None, _plain([unknown]))
        (named,) = bears
        order = self.order(named)
        state = order.state
        if state != "open" and target != order.paid_by:
            closed = order_rules.CLOSED.finding("cancels", seen=state)
            return ModelReceipt("refused", named, None, _plain([closed]))
        return self._enter_order(event, named, received_at, [], {})

    def _moment(self, event: Decision, received_at: datetime, order: str, unit: str | None) -> str:
        last = self.order(order).last_key
        if unit is not None:
            last = max(last, self.record(unit).last_key)
        return moment_after(received_at, event.kind, str(event.id), last)

    def _enter_order(
        self,
        event: Decision,
        order: str,
        received_at: datetime,
        found: list[Finding],
        resolved: dict[str, Any],
    ) -> ModelReceipt:
        at = self._moment(event, received_at, order, None)
        self.orders[order].append(_entry(event, at, found, resolved))
        return ModelReceipt("recorded", order, len(self.orders[order]), _plain(found))

    def _enter_both(
        self,
        event: Decision,
        unit: str,
        order: str,
        received_at: datetime,
        judgement: Judgement,
        reference: str,
    ) -> ModelReceipt:
        at = self._moment(event, received_at, order, unit)
        terms = sale_of(self.order(order), str(event.id), at)
        judgement.resolved |= {"reference": reference, "sale": terms}
        allots = {"reference": reference, "allots": unit}
        self.orders[order].append(_entry(event, at, judgement.findings, allots))
        return self._enter(event, unit, judgement, at)

    def _take_fact(self, event: Fact, received_at: datetime) -> ModelReceipt:
        unit, other = self._units_of(event)
        if isinstance(event, GateIn) and event.tag is not None:
            tag = f"#{event.depot}/{event.tag}"
            last = self.meaning.get(tag)
            known = event.mark and self.meaning.get(subject_of_mark(event.mark))
            if last and last != known and has_left_its_tag(self.record(last), event):
                unit, other = known or None, None
                self.meaning[tag] = known or str(event.id)
        record = self.record(unit) if unit else Record("")
        judgement = judge_fact(event, record, received_at, self.rules)
        if "mark" in judgement.resolved:
            elsewhere = {mark for mark, means in self.meaning.items() if means != unit}
            doubt_taken_marks(judgement, event, record, self.rules, elsewhere.__contains__)
        if other is not None and "mark" not in judgement.doubted:
            doubt_taken_tag(judgement, event, self.record(other))
        happened = received_at if "happened_at" in judgement.doubted else event.happened_at
        return self._enter(event, unit, judgement, moment_text(happened))

    def _decide(self, event: Decision, received_at: datetime) -> ModelReceipt:
        unit, other = self._units_of(event)
        record = self.record(unit) if unit else None
        if other is not None:
            judgement = refuse_two_units(event)
        else:
            judgement = judge_decision(event, record, received_at, self.rules)
            if record is not None:
                self._judge_claims(judgement, event, record, received_at)
        if judgement.is_refused:
            return ModelReceipt("refused", unit, None, _plain(judgement.findings))
        last = record.last_key if record else ("", 0, "")
        effective_at = moment_after(received_at, event.kind, str(event.id), last)
        return self._enter(event, unit, judgement, effective_at)

    def _judge_claims(
        self, judgement: Judgement, event: Decision, record: Record, received_at: datetime
    ) -> None:
        if isinstance(event, Reservation | Sale) and self.orders:
            short = leaves_orders_short(record, self.promises(record.depot, received_at))
            judgement.add(override(short, event.override_reason))
        if isinstance(event, Release):
            reference = event.reference or self.make_reference(event.id)
            if event.reference is not None and reference_subject(reference) in self.meaning:
                judgement.add([order_rules.REFERENCE_TAKEN.finding("reference", seen=reference)])
            judgement.resolved["reference"] = reference
        if isinstance(event, PassingOn):
            judgement.resolved["reference"] = self.make_reference(event.id)

    def _enter(
        self, event: Fact | Decision, unit: str | None, judgement: Judgement, effective_at: str
    ) -> ModelReceipt:
        if unit is None:
            unit = str(event.id)
            self.histories[unit] = []
        for name, subject in self._names_in(event):
            if name not in judgement.doubted:
                self.meaning.setdefault(subject, unit)
        if isinstance(event, PassingOn) or (isinstance(event, Release) and event.order is None):
            self.meaning[reference_subject(judgement.resolved["reference"])] = unit
        entry = Entry(
            event_id=str(event.id),
            kind=event.kind,
            effective_at=effective_at,
            payload=said(event),
            doubted=judgement.doubted,
            resolved=judgement.resolved,
            findings=_plain(judgement.findings),
        )
        told = self._append(unit, entry)
        found = entry.findings + _plain(told)
        return ModelReceipt("recorded", unit, len(self.histories[unit]), found)

    def _append(self, unit: str, entry: Entry) -> list[Finding]:
        self.histories[unit].append(entry)
        self.stands_in.setdefault(entry.event_id, unit)
        return fold_telling(unit, self.histories[unit], entry.event_id)[1]

    def _names_in(self, event: Fact | Decision) -> list[tuple[str, str]]:
        names = []
        if event.mark is not None:
            names.append(("mark", subject_of_mark(event.mark)))
        if event.tag is not None:
            # A tag in doubt means another unit already, so naming it changes nothing.
            names.append(("-", f"#{event.depot}/{event.tag}"))
        if isinstance(event, Marking) and event.new_mark is not None:
            names.append(("new_mark", subject_of_mark(event.new_mark)))
        return names

    def _units_of(self, event: Fact | Decision) -> tuple[str | None, str | None]:
        if isinstance(event, PassingOn):
            return self.meaning.get(reference_subject(event.reference)), None
        by_mark = event.mark and self.meaning.get(subject_of_mark(event.mark))
        by_tag = event.tag and self.meaning.get(f"#{event.depot}/{event.tag}")
        if by_mark and by_tag and by_mark != by_tag:
            nameless = self.record(by_tag).mark is None
            return (by_tag, by_mark) if nameless else (by_mark, by_tag)
        return by_mark or by_tag or None, None

    def _answer(self, event: Answer, received_at: datetime) -> ModelReceipt:
        here = self.questions().get(str(event.question))
        if here is None:
            wrong = settling_rules.NO_QUESTION.finding("question", seen=str(event.question))
            return ModelReceipt("refused", None, None, _plain([wrong]))
        there = event.right_mark and self.meaning.get(subject_of_mark(event.right_mark))
        if there == here:
            there = None
        other = self._stand(there) if there else None
        done = judge_answer(event, self._stand(here), other, received_at, self.rules)
        return self._settle(event, done, here, there or None, received_at)

    def _correct(self, event: Correction, received_at: datetime) -> ModelReceipt:
        here = self.stands_in.get(str(event.corrects))
        if here is None:
            wrong = settling_rules.NO_EVENT.finding("corrects", seen=str(event.corrects))
            return ModelReceipt("refused", None, None, _plain([wrong]))
        changes = said(event).get("changes", {})
        there, other, mark = None, None, changes.get("mark")
        if isinstance(mark, str):
            there = self.meaning.get(subject_of_mark(mark), str(event.id))
        if there == here:
            there = None
        if there is not None:
            other = self._stand(there) if there in self.histories else Stand(Record(there), [])
        done = judge_correction(event, self._stand(here), other, received_at, self.rules, changes)
        if not done.is_refused and done.there is not None and there == str(event.id):
            self.histories[there] = []
            self.meaning[subject_of_mark(str(mark))] = there
        return self._settle(event, done, here, there, received_at)

    def _stand(self, unit: str) -> Stand:
        return Stand(self.record(unit), self.histories[unit])

    def _settle(
        self,
        event: Answer | Correction,
        done: Settling,
        here: str,
        there: str | None,
        received_at: datetime,
    ) -> ModelReceipt:
        if done.is_refused:
            return ModelReceipt("refused", here, None, _plain(done.findings))
        effective_at = moment_text(received_at)
        entry = Entry(str(event.id), event.kind, effective_at, said(event), resolved=done.here)
        self._append(here, entry)
        seq = len(self.histories[here])
        if done.there is not None and there is not None:
            self._append(there, replace(entry, resolved=done.there))
            for moved in done.moved:
                self.stands_in[moved] = there
            if "merged_into" in done.here:
                for subject, unit in self.meaning.items():
                    self.meaning[subject] = there if unit == here else unit
        elif done.repoint is not None:
            self.meaning[done.repoint] = here
        return ModelReceipt("recorded", here, seq, _plain(done.findings))


def refuses(findings: Iterable[Finding]) -> bool:
    """Say whether one of the findings refuses."""
    return any(finding.severity is Severity.REFUSE for finding in findings)


def _is_by_quantity(event: Fact | Decision) -> bool:
    match event:
        case Release():
            return event.order is not None
        case Payment():
            return event.mark is None and event.tag is None
        case _:
            return False


def _is_own(entry: Entry) -> bool:
    """Say whether an entry of an order stands in no unit's history, too."""
    return not entry.resolved.keys() & {"allots", "returns"}


def _entry(event: Decision, at: str, found: list[Finding], resolved: dict[str, Any]) -> Entry:
    return Entry(
        event_id=str(event.id),
        kind=event.kind,
        effective_at=at,
        payload=said(event),
        resolved=resolved,
        findings=_plain(found),
    )


def said(event: Fact | Decision) -> dict[str, Any]:
    """Return an event as a history holds it, people in it by name."""
    told: dict[str, Any] = orjson.loads(event.model_dump_json(exclude_none=True))
    return told


def _plain(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [finding.model_dump(mode="json") for finding in findings]


def doubts_in(findings: Iterable[dict[str, Any]]) -> list[str]:
    """Return the ids of the doubts among findings."""
    return [one["id"] for one in findings if one["severity"] == Severity.DOUBT]
