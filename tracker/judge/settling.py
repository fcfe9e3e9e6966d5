"""Judge what settles: an answer to a question, a correction of an event.

Both end in overrides: what stands from now on in place of entries recorded before. An override of
None takes the entry away. When events turn out to be another unit's, the same answer or correction
stands in both histories: here it takes the entries away, there it brings them.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any, Final

import orjson
from pydantic import ValidationError

from schemas.events.base import Fact
from schemas.events.deal import Sale
from schemas.events.settling import Answer, Correction, Settlement
from schemas.events.union import EVENT, FACTS
from schemas.findings import Finding, Severity
from schemas.records import Question, Record
from tracker.judge import identity, price, settling_rules
from tracker.judge.entry import Entry, Payload, moment_text
from tracker.judge.facts import judge_fact
from tracker.judge.fold import settle
from tracker.judge.judgement import Rulebook
from tracker.judge.revising import hinders_changing, hinders_withdrawing

_READINGS = ("size_type", "masses", "plate")
_WEIGHING = ("weighed_tare_kg", "fittings")


@dataclass(slots=True)
class Settling:
    """What an answer or correction does: here, and to the other unit where one is involved."""

    findings: list[Finding] = field(default_factory=list)
    here: dict[str, Any] = field(default_factory=dict)
    """`resolved` of its entry in the history that the question or event stands in."""
    there: dict[str, Any] | None = None
    """`resolved` of its entry in the history that the events go to."""
    moved: list[str] = field(default_factory=list)
    """The events that go there."""
    repoint: str | None = None
    """A mark that means this unit from now on."""

    @property
    def is_refused(self) -> bool:
        """It is refused when one finding says so."""
        return any(finding.severity is Severity.REFUSE for finding in self.findings)


@dataclass(frozen=True, slots=True)
class Stand:
    """A unit as settling needs it: its record, and its whole history as recorded."""

    record: Record
    history: list[Entry]


def judge_answer(
    answer: Answer, here: Stand, there: Stand | None, received_at: datetime, rules: Rulebook
) -> Settling:
    """Judge the answer to a question of the unit `here`.

    `there` is the unit that the right mark leads to, where the answer gives one and it is another.
    """
    question = _open_question(here.record, str(answer.question))
    if question is None:
        return _refused(settling_rules.NO_QUESTION.finding("question", seen=str(answer.question)))
    settled = settle(here.history)
    target = settled.entries.get(question.event)
    if target is None:
        return _refused(settling_rules.NO_QUESTION.finding("question", seen=str(answer.question)))
    about = question.field.partition(".")[0]
    match answer.settlement:
        case Settlement.CONFIRMED if (
            about in ("mark", "new_mark") and here.record.mark_state == "in-question"
        ):
            return _refused(_mark_missing())
        case Settlement.CONFIRMED:
            return Settling(here={"settles": [question.id]})
        case Settlement.WITHDRAWN:
            return Settling(here={"settles": [question.id], "overrides": {target.event_id: None}})
        case Settlement.AS_PAINTED:
            return _painted_so(question, target, about)
        case Settlement.VALUE if about in ("mark", "new_mark"):
            return _right_mark(answer, question, target, here, there, rules)
        case Settlement.VALUE:
            return _right_value(answer, question, target, here.record, received_at, rules)


def judge_correction(
    correction: Correction,
    here: Stand,
    there: Stand | None,
    received_at: datetime,
    rules: Rulebook,
    changes: Payload,
) -> Settling:
    """Judge the correction of an event of the unit `here`.

    Args:
        correction: As asked for.
        here: The unit in whose history the event stands.
        there: The unit that a changed mark leads to, when it is another; an empty one is opened.
        received_at: When the correction was taken in.
        rules: The house's settings.
        changes: The changed fields with personal values as tokens.
    """
    target = settle(here.history).entries.get(str(correction.corrects))
    if target is None:
        wrong = settling_rules.NO_EVENT.finding("corrects", seen=str(correction.corrects))
        return _refused(wrong)
    gone = {"overrides": {target.event_id: None}}
    if correction.withdrawn:
        refused = hinders_withdrawing(target)
        return Settling(refused) if refused else Settling(here=gone)
    forbidden = _forbids_changes(target, changes, moves=there is not None)
    if forbidden is not None:
        return _refused(forbidden)
    record = here.record
    if there is not None:
        record, target = there.record, _nameless(target)
    revised = _revise(target, changes, record, received_at, rules)
    if isinstance(revised, Finding):
        return _refused(revised)
    if target.kind not in FACTS:
        hindered = hinders_changing(target, revised, here.history, received_at, rules)
        if hindered:
            return Settling(hindered)
    brought = {"overrides": {target.event_id: revised.as_override()}}
    if there is None:
        return Settling(here=brought)
    return Settling(here=gone, there=brought, moved=[target.event_id])


def _forbids_changes(target: Entry, changes: Payload, *, moves: bool) -> Finding | None:
    """Return what forbids changes before anybody looks at their values."""
    if "new_mark" in changes or (moves and "new_mark" in target.payload):
        return settling_rules.NEW_MARK_STAYS.finding("changes")
    if all(target.payload.get(name) == value for name, value in changes.items()):
        return settling_rules.NOTHING_CHANGED.finding("changes")
    if moves and target.kind not in FACTS:
        return settling_rules.DECISION_STAYS.finding("changes")
    return None


def _open_question(record: Record, wanted: str) -> Question | None:
    return next((question for question in record.questions if question.id == wanted), None)


def _refused(finding: Finding) -> Settling:
    return Settling([finding])


def _painted_so(question: Question, target: Entry, about: str) -> Settling:
    """It is really painted so: the doubted value stays unadopted, the paint is to be renewed."""
    resolved = {**target.resolved}
    paint = {"mark": "mark", "new_mark": "mark", "masses": "masses"}.get(about)
    if paint is not None:
        resolved["repaint"] = sorted({paint, *resolved.get("repaint", ())})
    if paint == "mark":
        resolved["mark_state"] = "as-painted"
    override = replace(target, resolved=resolved)
    return Settling(
        here={
            "settles": [question.id],
            "overrides": {target.event_id: override.as_override()},
        }
    )


def _right_value(
    answer: Answer,
    question: Question,
    target: Entry,
    record: Record,
    received_at: datetime,
    rules: Rulebook,
) -> Settling:
    given = orjson.loads(answer.model_dump_json(exclude_none=True))
    changes: Payload = {name: given[name] for name in _READINGS if name in given}
    if "at" in given:
        changes["happened_at"] = given["at"]
    about = question.field.partition(".")[0]
    if about in _WEIGHING:
        # Whatever the sum was made of, what settles it is the tare that the scales show.
        about, weighed = "weighed_tare_kg", changes.pop("masses", {}).get("tare_kg")
        if weighed is not None and record.gross_kg is not None and weighed >= record.gross_kg:
            return _refused(settling_rules.STILL_DOUBTFUL.finding(about, seen=question.asks))
        if weighed is not None:
            changes[about] = weighed
    if about not in changes:
        field = {"happened_at": "at"}.get(about, about)
        missing = settling_rules.VALUE_MISSING.finding("question", seen=about, expected=field)
        return _refused(missing)
    if about in ("masses", "plate"):
        changes[about] = {**target.payload.get(about, {}), **changes[about]}
    revised = _revise(target, changes, record, received_at, rules)
    if isinstance(revised, Finding):
        return _refused(revised)
    return Settling(
        here={
            "settles": [question.id],
            "overrides": {target.event_id: revised.as_override()},
        }
    )


def _revise(
    target: Entry, changes: Payload, record: Record, received_at: datetime, rules: Rulebook
) -> Entry | Finding:
    """Return the entry as it stands with the changes, or the finding that forbids them."""
    fixed = {"id": target.event_id, "kind": target.kind}
    payload = {**target.payload, **changes, **fixed}
    payload = {name: value for name, value in payload.items() if value is not None}
    try:
        event = EVENT.validate_json(orjson.dumps(payload))
    except ValidationError as fault:
        return settling_rules.UNREADABLE.finding("changes", seen=_first_fault(fault))
    payload = orjson.loads(event.model_dump_json(exclude_none=True))
    effective_at = target.effective_at
    if "happened_at" in changes and isinstance(event, Fact):
        effective_at = moment_text(event.happened_at.astimezone(UTC))
    if not isinstance(event, Fact):
        resolved = target.resolved
        if isinstance(event, Sale) and "currency" in changes and price.TERMS in resolved:
            terms = price.with_decimals(resolved[price.TERMS], event.currency)
            resolved = {**resolved, price.TERMS: terms}
        return replace(target, payload=payload, resolved=resolved)
    judgement = judge_fact(event, record, received_at, rules)
    stays = _BY_CIRCUMSTANCE - changes.keys()
    found = [one for one in judgement.findings if _about(one.field) not in stays]
    doubts = [one for one in found if _is_new_doubt(one, target, changes)]
    if doubts:
        seen = " ".join(doubt.message for doubt in doubts)
        return settling_rules.STILL_DOUBTFUL.finding(doubts[0].field, seen=seen)
    told = [finding.model_dump(mode="json") for finding in found]
    resolved = judgement.resolved
    if {"mark", "new_mark"} <= stays:
        resolved = {name: value for name, value in resolved.items() if name not in _OF_MARKS}
    return replace(
        target,
        payload=payload,
        effective_at=effective_at,
        doubted=[path for path in target.doubted if _about(path) in stays]
        + [path for path in judgement.doubted if _about(path) not in stays],
        resolved={**target.resolved, **resolved},
        findings=[one for one in target.findings if _about(one["field"]) in stays] + told,
    )


_BY_CIRCUMSTANCE: Final = frozenset({"mark", "new_mark", "happened_at"})
"""What is judged by how things stood then; left as it was judged unless it is changed."""

_OF_MARKS: Final = frozenset({"mark", "mark_state"})
"""What judging resolves about marks; all else follows from what the event now says."""


def _about(path: str) -> str:
    return path.partition(".")[0]


def _is_new_doubt(finding: Finding, target: Entry, changes: Payload) -> bool:
    """Say whether a change leaves or brings a doubt; one about another field may go on standing."""
    if finding.severity is not Severity.DOUBT:
        return False
    before = {(one["id"], one["field"]) for one in target.findings}
    return _about(finding.field) in changes or (finding.id, finding.field) not in before


def _right_mark(
    answer: Answer,
    question: Question,
    target: Entry,
    here: Stand,
    there: Stand | None,
    rules: Rulebook,
) -> Settling:
    """The unit is another than its mark said: it is renamed, or its events go to the right one."""
    if answer.right_mark is None:
        return _refused(_mark_missing())
    found = identity.judge_mark(answer.right_mark, rules.known)
    if found.mark is None:
        seen = " ".join(finding.message for finding in found.findings)
        return _refused(settling_rules.STILL_DOUBTFUL.finding("right_mark", seen=seen))
    asked = [one.id for one in here.record.questions if one.field in ("mark", "new_mark")]
    if there is None:
        resolved = {**target.resolved, "mark": found.mark, "mark_state": "good"}
        override = replace(target, resolved=resolved, findings=_without_mark_doubts(target))
        return Settling(
            here={"settles": asked, "overrides": {target.event_id: override.as_override()}},
            repoint=found.mark,
        )
    return _merge(here, there, target, asked, found.mark)


def _mark_missing() -> Finding:
    return settling_rules.VALUE_MISSING.finding("question", seen="the mark", expected="right_mark")


def _merge(here: Stand, there: Stand, target: Entry, asked: list[str], mark: str) -> Settling:
    """Give all that stands here to the unit there."""
    standing = settle(here.history)
    brought = {}
    for event_id, entry in sorted(standing.entries.items()):
        moved = replace(_renamed(entry, target, mark), findings=_without_mark_doubts(entry))
        brought[event_id] = moved.as_override()
    settles = sorted({*asked, *standing.questions})
    return Settling(
        here={
            "settles": asked,
            "overrides": dict.fromkeys(brought),
            "merged_into": there.record.unit_id,
        },
        there={"settles": settles, "overrides": brought},
        moved=list(brought),
        repoint=mark,
    )


def _renamed(entry: Entry, target: Entry, mark: str) -> Entry:
    """Return the entry as one of a unit whose right mark is `mark`.

    Where the mark first read was wrong, all that bore it bears the right one; a later re-marking
    keeps its own. Where a re-marking was asked about, the marks before it were right.
    """
    asked_marking = target.kind == "marking"
    wrong = entry.event_id == target.event_id if asked_marking else entry.kind != "marking"
    if not wrong or not (asked_marking or "mark" in entry.payload):
        return entry
    return replace(entry, resolved={**_nameless(entry).resolved, "mark": mark})


def _nameless(entry: Entry) -> Entry:
    """Return the entry without the mark it gave its unit: it goes to one that has its own."""
    resolved = {
        name: value for name, value in entry.resolved.items() if name not in ("mark", "mark_state")
    }
    return replace(entry, resolved=resolved)


def _without_mark_doubts(entry: Entry) -> list[dict[str, Any]]:
    return [
        finding
        for finding in entry.findings
        if not (finding["field"] in ("mark", "new_mark") and finding["severity"] == "doubt")
    ]


def _first_fault(fault: ValidationError) -> str:
    first = fault.errors(include_url=False, include_input=False)[0]
    return f"{'.'.join(map(str, first['loc'][1:]))}: {first['msg']}"
