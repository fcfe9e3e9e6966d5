"""The interchange receipt, in and out: who handed over which unit in which state."""

from __future__ import annotations

from typing import Final, Literal

from schemas.base import Model
from schemas.events.gate import OutsideLookedAt
from shared import cautions, damage, damage_locations
from shared.damage_locations import DamageLocationError
from tracker.papers import particulars, typesetting
from tracker.papers.particulars import Issue, Party, Unit
from tracker.papers.signing import Signing, signing_values

_NOTHING_SEEN: Final = {
    OutsideLookedAt.YES: "The outside was looked at and no damage was seen.",
    OutsideLookedAt.NO: "The unit was not looked at: this paper says nothing about its state.",
    OutsideLookedAt.NOT_POSSIBLE: "The outside could not be looked at: this paper says nothing "
    "about its state.",
}


class DamageSeen(Model):
    """Damage as written on the receipt: a place of the grid, keys or words for what and how."""

    component: str
    kind: str
    place: str | None = None
    measured_mm: int | None = None
    on_lorry: bool = False
    """Seen before the unit was lifted off, so no doing of the depot's."""


class Interchange(Model):
    """One handover at the gate. Nothing seen means no damage only where somebody looked."""

    direction: Literal["in", "out"]
    unit: Unit
    issue: Issue
    """Its moment is the moment of the handover."""
    purpose: str = ""
    reference: str | None = None
    laden: Literal["empty", "full"] = "empty"
    seal: str | None = None
    placards: str | None = None
    haulier: str | None = None
    vehicle: str | None = None
    driver: str | None = None
    parties: tuple[Party, ...] = ()
    outside: OutsideLookedAt = OutsideLookedAt.YES
    damages: tuple[DamageSeen, ...] = ()
    seen_in_words: str | None = None
    """Damage that the gate saw, in the words it was told in."""
    remarks: str = ""
    signings: tuple[Signing, ...] = (Signing(role="For the depot"), Signing(role="For the haulier"))


def interchange_pdf(receipt: Interchange) -> bytes:
    """Return the receipt as PDF."""
    direction = "IN" if receipt.direction == "in" else "OUT"
    values = {
        "title": f"Interchange receipt: {direction}",
        "subject": particulars.write_mark(receipt.unit),
        "subtitle": _direction_says(receipt),
        "issue": particulars.issue_values(receipt.issue),
        "unit": particulars.unit_values(receipt.unit),
        "handover": _handover(receipt),
        "carriage": _carriage(receipt),
        "parties": particulars.party_values(receipt.parties),
        "condition_says": _condition_says(receipt),
        "damages": [_damage_row(at, seen) for at, seen in enumerate(receipt.damages, start=1)],
        "remarks": receipt.remarks,
        "signings": signing_values(receipt.signings),
    }
    values["caution"] = cautions.LIFTING
    return typesetting.typeset("interchange", values, receipt.issue.at)


def place_words(place: str | None) -> str:
    """Return a place of the damage grid in words with its code; as written when it is none."""
    if place is None:
        return "not said"
    try:
        found = damage_locations.parse_location(place)
    except DamageLocationError:
        return place
    return f"{found.describe()} ({found})"


def _direction_says(receipt: Interchange) -> str:
    taken = "Taken over by the depot" if receipt.direction == "in" else "Handed over by the depot"
    return f"{taken}, {receipt.laden}"


def _handover(receipt: Interchange) -> list[list[str]]:
    return [
        ["Moment", particulars.write_moment(receipt.issue.at, receipt.issue.zone)],
        ["Empty or full", receipt.laden],
        ["Seal", receipt.seal or "none"],
        ["Placards", receipt.placards or "none seen"],
        ["Purpose", receipt.purpose or "not said"],
        ["Reference", receipt.reference or "none"],
    ]


def _carriage(receipt: Interchange) -> list[list[str]]:
    return [
        ["Haulier", receipt.haulier or "not said"],
        ["Vehicle", receipt.vehicle or "not said"],
        ["Driver", receipt.driver or "not said"],
    ]


def _condition_says(receipt: Interchange) -> str:
    said = f"Damage was seen: {receipt.seen_in_words}." if receipt.seen_in_words else ""
    if receipt.damages:
        count = len(receipt.damages)
        listed = "One damage was seen:" if count == 1 else f"{count} damages were seen:"
        return f"{said} {listed}".lstrip()
    return said or _NOTHING_SEEN[receipt.outside]


def _damage_row(number: int, seen: DamageSeen) -> list[str]:
    measured = "" if seen.measured_mm is None else f", {seen.measured_mm} mm"
    return [
        str(number),
        place_words(seen.place),
        _words(seen.component, damage.Component),
        f"{_words(seen.kind, damage.DamageKind)}{measured}",
        "on the lorry" if seen.on_lorry else "at the gate",
    ]


def _words(key: str, terms: type[damage.Term]) -> str:
    return damage.words_for(terms(key)) if key in set(terms) else key
