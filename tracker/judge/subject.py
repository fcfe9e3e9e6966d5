"""What names the unit of an event, in the one form that units are looked up by."""

from __future__ import annotations

from typing import Final
from uuid import UUID

from schemas.events.base import Event
from schemas.events.deal import Cancellation, PassingOn, Payment, Release
from schemas.events.gate import Clearance
from schemas.events.settling import Answer, Correction
from schemas.events.workshop import Marking
from shared import marks

_LEANING: Final = frozenset(
    {"answer", "correction", "passing-on", "payment", "release", "cancellation"}
)
"""The kinds that may name another event, a question or a reference by which they are gathered."""


def subject_of(event: Event) -> str:
    """Return what gathers an event with others of its unit: mark, tag, or what it settles."""
    match event:
        case Answer():
            return str(event.question)
        case Correction():
            return str(event.corrects)
        case _ if named := subjects_of(event):
            return named[0]
        case _:
            return str(order_of(event) or event.id)


def subjects_of(event: Event) -> list[str]:
    """Return all that names the event's own unit, the mark first; empty when it only settles.

    A passing-on names it, or an order, by the reference that is passed on.
    """
    if isinstance(event, PassingOn):
        return [reference_subject(event.reference)]
    named = []
    if event.mark is not None:
        named.append(subject_of_mark(event.mark))
    if event.tag is not None:
        named.append(f"#{event.depot}/{event.tag}")
    return named


def reference_subject(reference: str) -> str:
    """Return a collection reference in a form that no mark and no tag can have."""
    return f"@{marks.normalise(reference)}"


def reference_of(event: Event) -> str | None:
    """Return what a collection reference that the event names is looked up by."""
    match event:
        case Clearance() | PassingOn():
            return reference_subject(event.reference)
        case Release() if event.reference is not None:
            return reference_subject(event.reference)
        case _:
            return None


def leans_on(event: Event) -> UUID | str | None:
    """Return the event, question or reference without which an event means nothing.

    An event that was handed in after it must not be judged before it.
    """
    if event.kind not in _LEANING:
        return None  # asked of every event that is handed in: a kind is found faster than a class
    match event:
        case Answer():
            return event.question
        case Correction():
            return event.corrects
        case PassingOn():
            return reference_of(event)
        case _:
            return order_of(event)


def order_of(event: Event) -> UUID | None:
    """Return the order that the event names by its id, if it may be one."""
    match event:
        case Release():
            return event.order
        case Cancellation() if event.mark is None and event.tag is None:
            return event.cancels
        case Payment() if event.mark is None and event.tag is None:
            return event.pays
        case _:
            return None


def other_subject_of(event: Event) -> str | None:
    """Return a second mark that the event speaks of: a new one, or the right one."""
    match event:
        case Answer():
            mark: object = event.right_mark
        case Correction():
            mark = event.changes.get("mark")
        case Marking():
            mark = event.new_mark
        case _:
            mark = None
    return subject_of_mark(mark) if isinstance(mark, str) else None


def subject_of_mark(as_read: str) -> str:
    """Return a mark in normal form with its digit completed; other texts without their spaces."""
    compact = marks.find_compact(as_read)
    if compact is None:
        return marks.normalise(as_read) or as_read
    return compact if len(compact) == 11 else compact + marks.check_digit(compact)
