"""How claims stand in a record: opened by damage that was on the lorry, notified, closed.

None stands without a last day for its notice, so that none is forgotten: what judging set, or, in
a history from before it did, so many days after the damage was found.
"""

from __future__ import annotations

from datetime import date

from schemas.records import Claim, OpenDamage, Record
from tracker.judge import mend_dates
from tracker.judge.entry import Entry, Payload
from tracker.judge.folding.notes import Notes


def claim_damage(
    record: Record, entry: Entry, opened: OpenDamage, damage: Payload, number: int
) -> None:
    """Keep damage that an inspection found on the lorry, against the firm named."""
    record.claims.append(
        Claim(
            id=opened.id,
            says=f"{opened.kind} on {opened.component}",
            found_at=entry.effective_at,
            responsible=damage.get("responsible"),
            notice_by=damage.get("notice_by") or _notice_by(entry, number),
            notice_given_on=damage.get("notice_given_on"),
        )
    )


def claim_arrival(record: Record, entry: Entry, payload: Payload) -> None:
    """Keep damage seen on the lorry at the gate, against its haulier where one is named."""
    if seen := payload.get("damage_on_lorry"):
        record.claims.append(
            Claim(
                id=entry.event_id,
                says=seen,
                found_at=entry.effective_at,
                responsible=payload.get("haulier"),
                notice_by=_notice_by(entry, 0),
            )
        )


def fold_claim_notice(record: Record, entry: Entry, payload: Payload, _notes: Notes) -> None:
    """Notice was given of the claims named, or of all that had none."""
    given_on = payload.get("given_on") or entry.resolved.get("given_on") or entry.effective_at[:10]
    for claim in record.claims:
        named = claim.id in payload["claims"]
        if named or (not payload["claims"] and claim.notice_given_on is None):
            # A reminder does not make notice late that was given in time.
            claim.notice_given_on = claim.notice_given_on or given_on
            claim.responsible = payload.get("to") or claim.responsible


def fold_claim_closed(record: Record, _entry: Entry, payload: Payload, _notes: Notes) -> None:
    """The claim named is at its end; what it came to stands in the history."""
    record.claims = [kept for kept in record.claims if kept.id != payload["closes"]]


def resolved_for(entry: Entry, name: str, number: int) -> str | None:
    """Return what judging resolved for one damage, such as a day; None where it resolved none."""
    values = entry.resolved.get(name) or ()
    return values[number] if number < len(values) else None


def _notice_by(entry: Entry, number: int) -> str:
    found_on = date.fromisoformat(entry.effective_at[:10])
    said = resolved_for(entry, "notice_by", number)
    return said or mend_dates.notice_after(found_on).isoformat()
