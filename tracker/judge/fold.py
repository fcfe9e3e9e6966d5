"""The fold: a unit's history in order adds up to its record, the same one every time.

It reads no clock, no settings and no table: what judging looked up stands in the entries. A fact
that comes in late takes its place in time, and questions open where things now look different.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from schemas.events.union import FACTS
from schemas.findings import Finding, Severity
from schemas.records import DatedMark, Record
from shared import marks
from shared.moments import moment_said
from tracker.judge import presence
from tracker.judge.entry import Entry, Payload, adopted
from tracker.judge.folding import claims, condition, deal, gate, holds, workshop, yard
from tracker.judge.folding.notes import Notes, open_question
from tracker.judge.subject import subject_of_mark

FOLD_VERSION: Final = 3
"""Raised when a history comes to another record than before, with a migration (see DEVELOPERS.md).

2: every claim has a last day, an order knows what is left of it and what tells of it done, work is
kept for orders that come later, a weighing is owed since the cut, and events rank anew.
3: work is kept for orders that come within 30 days, and not for those that are done or cancelled;
a sale knows how the buyer gets the unit and what was fitted to it before, a release what a
manager let pass, and a unit what was mended or painted in this stay. A reference on an order
knows that it was withdrawn;
a tare that leaves nothing to load, or is painted otherwise than known, is asked about; a unit seen
in another depot leaves its slot behind; a departure that nobody had cleared is kept until it is
answered, and a release knows whose lorry the barrier let pass.
"""

Folder = Callable[[Record, Entry, Payload, Notes], None]

FOLDERS: Final[Mapping[str, Folder]] = {
    "pre-advice": gate.fold_pre_advice,
    "gate-in": gate.fold_gate_in,
    "gate-out": gate.fold_gate_out,
    "delivery": gate.fold_delivery,
    "clearance": gate.fold_clearance,
    "sighting": yard.fold_sighting,
    "restow": yard.fold_restow,
    "disposal": yard.fold_disposal,
    "inspection": condition.fold_inspection,
    "examination": condition.fold_examination,
    "survey": condition.fold_survey,
    "complaint": condition.fold_complaint,
    "claim-notice": claims.fold_claim_notice,
    "claim-closed": claims.fold_claim_closed,
    "work-order": workshop.fold_work_order,
    "modification": workshop.fold_modification,
    "repair": workshop.fold_repair,
    "marking": workshop.fold_marking,
    "plate-change": workshop.fold_plate_change,
    "acquisition": deal.fold_acquisition,
    "reservation": deal.fold_reservation,
    "sale": deal.fold_sale,
    "release": deal.fold_release,
    "payment": deal.fold_payment,
    "passing-on": deal.fold_passing_on,
    "cancellation": deal.fold_cancellation,
    "take-back": deal.fold_take_back,
    "hold": holds.fold_hold,
    "hold-cleared": holds.fold_hold_cleared,
}
"""Every kind that changes a unit: not those that settle, which act on other entries, and not
`order`, which has a history of its own (`order_fold`)."""

SETTLING: Final = frozenset({"answer", "correction"})

_OF_THE_BOX: Final = frozenset(FACTS) - {"claim-notice"}
"""Facts that need the box: after its disposal they are asked about. A letter does not."""


def fold(unit_id: str, history: Iterable[Entry], *, until: str | None = None) -> Record:
    """Return the record that a whole history adds up to, today or as it was at a moment.

    Args:
        unit_id: The unit's own id.
        history: All entries of the unit in the order they were recorded, which is the order in
            which answers and corrections take effect. Folding itself goes by `Entry.key`.
        until: As `moment_text` writes it; what took effect later is left out.
    """
    settled = settle(history)
    if until is not None:
        settled.entries = {
            event_id: entry
            for event_id, entry in settled.entries.items()
            if entry.effective_at <= until
        }
    return _fold_settled(unit_id, settled, "")[0]


def fold_telling(
    unit_id: str, history: Iterable[Entry], about: str
) -> tuple[Record, list[Finding]]:
    """Fold like `fold`; return also the questions and breaches that the event `about` raises."""
    return _fold_settled(unit_id, settle(history), about)


def _fold_settled(unit_id: str, settled: Settled, about: str) -> tuple[Record, list[Finding]]:
    record = Record(unit_id)
    if not settled.entries:
        record.merged_into = settled.merged_into
    told: list[Finding] = []
    asked = {one.resolved.get("mark") for one in settled.entries.values() if _doubts_its_mark(one)}
    for entry in sorted(settled.entries.values(), key=lambda entry: entry.key):
        notes = Notes(settled.questions, asked)
        _apply(record, entry, notes)
        if entry.event_id == about:
            told = notes.findings
    record.events = settled.count
    return record, [finding for finding in told if _stands(finding, record, about)]


def _stands(finding: Finding, record: Record, event_id: str) -> bool:
    """Say whether something that an event told was not answered by what was folded after it."""
    return finding.severity is not Severity.BREACH or any(
        breach.event == event_id and breach.finding == finding.id for breach in record.breaches
    )


def last_moment_at(history: Iterable[Entry], depots: Collection[str]) -> str | None:
    """Return the last moment at which one of some depots had the unit; None where none ever had.

    By where the history has it. A report made here of a unit that is elsewhere is no such moment,
    and none that was taken back.
    """
    record, last = Record(""), None
    for entry in sorted(settle(history).entries.values(), key=lambda entry: entry.key):
        had = record.depot in depots
        _apply(record, entry, Notes())
        if record.depot in depots or (had and entry.payload["depot"] in depots):
            last = entry.effective_at
    return last


def extend(record: Record, entry: Entry) -> list[Finding]:
    """Fold one more entry into `record`, in place; return the questions and breaches it raised.

    Only for an entry that comes after all others and settles nothing (`may_extend`); any other
    needs the whole history folded anew. Together they give the same record, byte for byte.
    """
    notes = Notes()
    _apply(record, entry, notes)
    record.events += 1
    record.merged_into = None
    return notes.findings


def may_extend(record: Record, entry: Entry) -> bool:
    """Say whether `extend` gives what folding the whole history would give."""
    return entry.kind not in SETTLING and entry.key > record.last_key


@dataclass(slots=True)
class Settled:
    """A history after its answers and corrections: what is left to fold, in no order."""

    entries: dict[str, Entry] = field(default_factory=dict)
    questions: set[str] = field(default_factory=set)
    merged_into: str | None = None
    count: int = 0


def settle(history: Iterable[Entry]) -> Settled:
    """Let answers and corrections act on the other entries, in the order they were recorded."""
    settled = Settled()
    for entry in history:
        settled.count += 1
        if entry.kind not in SETTLING:
            settled.entries[entry.event_id] = entry
            continue
        settled.questions.update(entry.resolved.get("settles", ()))
        settled.merged_into = entry.resolved.get("merged_into", settled.merged_into)
        for event_id, instead in entry.resolved.get("overrides", {}).items():
            settled.entries.pop(event_id, None)
            if instead is not None:
                settled.entries[event_id] = Entry(event_id, **instead)
    return settled


def _apply(record: Record, entry: Entry, notes: Notes) -> None:
    payload = adopted(entry.payload, entry.doubted)
    _take_mark(record, entry, payload, notes)
    if record.presence == "disposed" and entry.kind in _OF_THE_BOX:
        at = moment_said(entry.effective_at)
        notes.ask(record, entry, presence.AFTER_DISPOSAL.finding("happened_at", seen=at, at=at))
    FOLDERS[entry.kind](record, entry, payload, notes)
    for finding in entry.findings:
        if finding["severity"] == Severity.DOUBT:
            open_question(record, entry, Finding.model_validate(finding), notes.settled)
    for paint in entry.resolved.get("repaint", ()):
        if paint not in record.repaint:
            record.repaint.append(paint)
    if not record.repaint:
        record.repaint_since = None
    elif record.repaint_since is None:
        record.repaint_since = entry.effective_at
    for photo in payload["photos"]:
        if photo not in record.photos:
            record.photos.append(photo)
    record.last_key = entry.key


def _is_asked_about(entry: Entry, mark: str, notes: Notes) -> bool:
    return mark in notes.marks_asked_about or _doubts_its_mark(entry)


def _doubts_its_mark(entry: Entry) -> bool:
    """Say whether the entry brings up the question of the mark that it gives its unit."""
    return entry.resolved.get("mark_state") == "in-question" and any(
        finding["severity"] == Severity.DOUBT and finding["field"] in ("mark", "new_mark")
        for finding in entry.findings
    )


def _take_mark(record: Record, entry: Entry, payload: Payload, notes: Notes) -> None:
    if tag := payload.get("tag"):
        record.tag = tag
    if mark := entry.resolved.get("mark"):
        state = entry.resolved.get("mark_state", "good")
    elif record.mark is None and "mark" in payload:
        # The report whose judging adopted the mark was withdrawn or went to another unit.
        mark = subject_of_mark(payload["mark"])
        state = entry.resolved.get("mark_state") or (
            "good" if marks.is_sound(mark) else "in-question"
        )
    else:
        return
    newly = state == "in-question" and record.mark_state != "in-question"
    if newly and not _is_asked_about(entry, mark, notes):
        notes.ask(record, entry, presence.MARK_UNSETTLED.finding("mark", seen=mark))
    if mark != record.mark:
        record.mark = mark
        record.marks.append(DatedMark(mark, entry.effective_at))
    record.mark_state = state
