"""Write what the buyer of a unit sold as it is, for storage, signs to have been told."""

from __future__ import annotations

from collections.abc import Iterator

from schemas.findings import Severity
from schemas.records import Record
from shared.damage import Component, DamageKind, Term, words_for
from shared.errors import HardstandError
from shared.months import Month
from shared.plates import examination_on
from tracker.judge import sale, travel
from tracker.papers.acknowledgement import Acknowledgement
from tracker.papers.interchange import place_words
from tracker.papers.particulars import Party
from tracker.papers.signing import Signing
from tracker.services import paper_values
from tracker.services.context import Context
from tracker.services.unit_view import UnitView


class NotSoldForStorageError(HardstandError):
    """A unit is not sold for storage, so that nobody has to acknowledge anything; carries it."""

    def __init__(self, mark: str) -> None:
        self.mark = mark
        super().__init__(
            f"{mark} is not sold for storage",
            expected="a unit with a live sale whose intended use is storage",
            remedy="Look at its record: a sale for export or transport has no such paper",
        )


def acknowledgement_of(context: Context, view: UnitView) -> Acknowledgement:
    """Return the acknowledgement of a unit's live sale, also after the unit was collected.

    Raises:
        NotSoldForStorageError: it is not sold, or not for storage.
    """
    record, sold = paper_values.record_of(view), paper_values.record_of(view).sale
    if sold is None or sold.intended_use != "storage":
        raise NotSoldForStorageError(record.mark or record.tag or record.unit_id)
    issue = paper_values.issue_of(context, view)
    programme = record.next_examination == "programme"
    month = None if programme or not record.next_examination else record.next_examination
    return Acknowledgement(
        unit=paper_values.unit_of(record),
        issue=issue,
        buyer=Party(role="Buyer", name=sold.buyer),
        sale_reference=sold.reference,
        condition=(record.condition or "").replace("-", " "),
        approval=record.approval,
        examination=examination_on(
            issue.day,
            next_examination=None if month is None else Month.parse(month),
            programme="programme" if programme else None,
            reading=context.month_reading,
        ),
        warnings=tuple(_warnings(context, record)),
        signings=(Signing(role="The buyer", name=sold.buyer), Signing(role="For the depot")),
    )


def _warnings(context: Context, record: Record) -> Iterator[str]:
    with context.engine.begin() as connection:
        rules = context.rulebook(connection)
    found = sale.hinders_release(record, context.clock.now(), rules)
    # Approval and examination the paper tells in its own words.
    yield from (
        one.message
        for one in found
        if one.severity is Severity.WARN and one.id != travel.APPROVAL_VOID.id
    )
    for damage in record.damages:
        size = "" if damage.measured_mm is None else f", {damage.measured_mm} mm"
        place = "" if damage.place is None else f", {place_words(damage.place)}"
        kind = _words(damage.kind, DamageKind)
        yield f"It has open damage: {kind}{size} on {_words(damage.component, Component)}{place}."
    for question in record.questions:
        yield f"A question about it is open: {question.asks}"
    if record.placards:
        yield f"Seen on it: {record.placards}. What was carried in it may still be in its floor."
    if record.air in ("suspect", "unknown") and record.last_cargo:
        yield f"Its last cargo was {record.last_cargo}; nobody has tested the air in it."


def _words(key: str, terms: type[Term]) -> str:
    return words_for(terms(key)) if key in set(terms) else key
