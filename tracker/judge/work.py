"""Judge work on a unit: what is ordered, fitted and mended, by the catalogue.

The rules stand in `tracker.judge.work_rules`. The sum of the tare is told by the fold
(`tracker.judge.folding.tare`), which knows the tare at that moment.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from schemas.events.base import Event
from schemas.events.deal import IntendedUse
from schemas.events.workshop import Fitting, Modification, PlateChange, Repair, WorkOrder
from schemas.findings import Finding, Severity
from schemas.records import Record
from shared.masses import write_kilograms
from shared.work import ApprovalEffect, WorkItem, strongest
from tracker.judge import work_rules as rules
from tracker.judge.judgement import Judgement, Rulebook

RULES: Final = rules.RULES

TRAVELS: Final = frozenset({IntendedUse.EXPORT, IntendedUse.TRANSPORT})

_DOES: Final = {
    ApprovalEffect.ASK: "asks for the approving body's answer",
    ApprovalEffect.VOID: "ends it until the unit is approved anew",
}
_LEFT: Final = {
    ApprovalEffect.NONE: "as it is",
    ApprovalEffect.ASK: "to the approving body's answer",
}


def judge_work(
    judgement: Judgement, event: Event, record: Record, now: datetime, rulebook: Rulebook
) -> None:
    """Add what a report of work gives rise to; any other event adds nothing.

    Resolves for a modification `approval_effect`, the stronger of what is told and what the
    catalogue says, and `cuts`, whether steel was taken out of the shell.
    """
    match event:
        case Modification():
            _judge_modification(judgement, event, record, now, rulebook)
        case Repair():
            judgement.add(_unknown_damages(event, record))
        case PlateChange(action="confirmed") if record.approval == "void":
            judgement.add([rules.CONFIRMED_WHILE_VOID.finding("action", seen=event.action)])
        case _:
            pass


def judge_order(
    event: WorkOrder, record: Record, now: datetime, rulebook: Rulebook
) -> list[Finding]:
    """Return what somebody who orders work should know; none of it refuses."""
    names = list(dict.fromkeys(line.work for line in event.lines))
    known = [rulebook.catalogue[name] for name in names if name in rulebook.catalogue]
    found = list(_not_in_catalogue("lines", names, rulebook))
    if cutting := [item for item in known if item.cuts]:
        words = " ".join(f"{spoken(item.name)} takes out {item.cuts}." for item in cutting)
        seen = [item.name for item in cutting]
        found.append(rules.CUTS_THE_SHELL.finding("lines", seen=seen, words=words))
    effects = {item.name: item.approval_effect for item in known}
    return found + list(_on_unit_to_travel("lines", effects, record, now))


def told_by(rulebook: Rulebook) -> dict[str, str]:
    """Return which kind of event tells of each piece of work that is not fitted.

    Of the whole catalogue, since the lines of an order may be corrected.
    """
    kinds = {item.name: item.reported_as.value for item in rulebook.catalogue.values()}
    return {name: kind for name, kind in kinds.items() if kind != "modification"}


def hinders_use(record: Record, weight: Severity) -> list[Finding]:
    """Return what unfinished work has against a use, with the weight it has for that use."""
    return [rules.TO_WEIGH.finding("mark", severity=weight)] if record.to_weigh else []


def spoken(name: str) -> str:
    """Return the name of work as it begins a sentence: `louvre-vent` is `Louvre vent`."""
    return name.replace("-", " ").capitalize()


def _judge_modification(
    judgement: Judgement, event: Modification, record: Record, now: datetime, rulebook: Rulebook
) -> None:
    names = list(dict.fromkeys(fitting.work for fitting in event.fittings))
    judgement.add(_not_in_catalogue("fittings", names, rulebook))
    for number, fitting in enumerate(event.fittings, start=1):
        item = rulebook.catalogue.get(fitting.work)
        if item is not None:
            judgement.add(_compare(f"fittings.{number}", fitting, item))
    if loose := [fitting.work for fitting in event.fittings if not fitting.permanent]:
        judgement.add([rules.LOOSE_NOT_IN_TARE.finding("fittings", seen=", ".join(loose))])
    effects = {one.work: _effect_of(one, rulebook) for one in event.fittings}
    effect = strongest((*effects.values(), event.approval_effect))
    if effect is not event.approval_effect:
        judgement.add([_understated(event.approval_effect, effect, effects)])
    told = effects if effect in effects.values() else {"what-was-done": effect}
    judgement.add(_on_unit_to_travel("fittings", told, record, now))
    cut = [fitting.work for fitting in event.fittings if _cuts(fitting, rulebook)]
    if cut and event.weighed_tare_kg is None:
        seen = ", ".join(dict.fromkeys(cut))
        judgement.add([rules.WEIGH_AFTER_CUTTING.finding("weighed_tare_kg", seen=seen)])
    # Said also when nothing follows, so that a correction takes back what was resolved before it.
    judgement.resolved |= {"approval_effect": effect.value, "cuts": bool(cut)}


def _not_in_catalogue(field: str, names: list[str], rulebook: Rulebook) -> Iterator[Finding]:
    if unknown := [name for name in names if name not in rulebook.catalogue]:
        yield rules.NOT_IN_CATALOGUE.finding(field, seen=", ".join(unknown))


def _compare(field: str, fitting: Fitting, item: WorkItem) -> Iterator[Finding]:
    told, usual = fitting.mass_kg, item.mass_kg
    if usual is not None and (told, fitting.cut_out_kg) != (usual, item.cut_out_kg):
        yield rules.MASS_DIFFERS.finding(
            field,
            seen=_mass_in_words(told, fitting.cut_out_kg),
            expected=_mass_in_words(usual, item.cut_out_kg),
            work=spoken(item.name),
        )
    if item.certificate and fitting.certificate is None:
        yield rules.CERTIFICATE_MISSING.finding(
            f"{field}.certificate", expected=item.certificate, work=spoken(item.name)
        )


def _mass_in_words(mass_kg: int, cut_out_kg: int) -> str:
    cut_out = f" less {write_kilograms(cut_out_kg)} cut out" if cut_out_kg else ""
    return write_kilograms(mass_kg) + cut_out


def _cuts(fitting: Fitting, rulebook: Rulebook) -> bool:
    item = rulebook.catalogue.get(fitting.work)
    return fitting.cut_out_kg > 0 or (item is not None and bool(item.cuts))


def _effect_of(fitting: Fitting, rulebook: Rulebook) -> ApprovalEffect:
    """Return what the catalogue says, or what cutting does where it says nothing of cutting."""
    item = rulebook.catalogue.get(fitting.work)
    by_catalogue = ApprovalEffect.NONE if item is None else item.approval_effect
    unforeseen = fitting.cut_out_kg > 0 and not (item is not None and item.cuts)
    return strongest((by_catalogue, ApprovalEffect.ASK)) if unforeseen else by_catalogue


def _understated(
    said: ApprovalEffect, effect: ApprovalEffect, effects: dict[str, ApprovalEffect]
) -> Finding:
    work = next(name for name, one in effects.items() if one is effect)
    return rules.EFFECT_UNDERSTATED.finding(
        "approval_effect",
        seen=said.value,
        expected=effect.value,
        said=_LEFT[said],
        work=spoken(work).lower(),
        does=_DOES[effect],
    )


def _on_unit_to_travel(
    field: str, effects: dict[str, ApprovalEffect], record: Record, now: datetime
) -> Iterator[Finding]:
    promised = _promised_use(record, now)
    effect = strongest(effects.values())
    if promised is None or effect is ApprovalEffect.NONE:
        return
    stands, use = promised
    work = next(name for name, one in effects.items() if one is effect)
    yield rules.ON_UNIT_TO_TRAVEL.finding(
        field, seen=use, stands=stands, work=spoken(work).lower(), does=_does_to_approval(effect)
    )


def _does_to_approval(effect: ApprovalEffect) -> str:
    if effect is ApprovalEffect.VOID:
        return "ends its safety approval until it is approved anew"
    return "leaves its safety approval open until the approving body has answered"


def _promised_use(record: Record, now: datetime) -> tuple[str, str] | None:
    """Return how the unit is promised and for which transport; None where it is not."""
    if record.sale is not None:
        use = record.sale.intended_use
        return ("sold", use) if use in TRAVELS else None
    kept = record.reservation
    if kept is not None and kept.intended_use in TRAVELS:
        return ("reserved", kept.intended_use) if datetime.fromisoformat(kept.until) > now else None
    return None


def _unknown_damages(event: Repair, record: Record) -> Iterator[Finding]:
    open_now = {damage.id for damage in record.damages}
    if unknown := [damage for damage in event.damages if damage not in open_now]:
        yield rules.UNKNOWN_DAMAGE.finding("damages", seen=", ".join(unknown))
