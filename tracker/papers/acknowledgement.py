"""What the buyer of a unit sold as it is for storage was told, with a place to sign for it."""

from __future__ import annotations

from typing import Final

from schemas.base import Model
from schemas.records import Approval
from shared import cautions
from shared.plates import ExaminationState
from tracker.papers import particulars, typesetting
from tracker.papers.particulars import Issue, Party, Unit
from tracker.papers.signing import Signing, signing_values

_NOT_FOR_TRANSPORT: Final = (
    "It is not sold for transport. It may only be moved as freight container again, by sea, rail "
    "or road, after an examination that says it is fit, with a valid safety approval."
)
_APPROVAL_SAYS: Final[dict[Approval, str | None]] = {
    "approved": None,
    "unknown": "Nobody has established whether it has a valid safety approval.",
    "ask": "Work on its shell has put its safety approval in question; nobody has confirmed it.",
    "void": "Its safety approval is void: work on the shell ended it.",
    "none": "It bears no safety approval plate.",
}
_EXAMINATION_SAYS: Final[dict[ExaminationState, str | None]] = {
    ExaminationState.VALID: None,
    ExaminationState.LAST_MONTH: "Its periodic examination falls due in this very month.",
    ExaminationState.PASSED: "Its periodic examination has lapsed.",
    ExaminationState.PROGRAMME: (
        "The examination programme on its plate is its former owner's and ends with this sale."
    ),
    ExaminationState.UNKNOWN: "It is not known when it was last examined.",
}


class Acknowledgement(Model):
    """A sale for storage, as it is. Says nothing about price or payment."""

    unit: Unit
    issue: Issue
    buyer: Party
    sale_reference: str | None = None
    condition: str = ""
    """The depot's words for its state, such as `wind and watertight`."""
    approval: Approval
    examination: ExaminationState
    """How it stands on the day of the paper."""
    warnings: tuple[str, ...] = ()
    """What the judgement warned of beyond approval and examination, in its own sentences."""
    signings: tuple[Signing, ...] = (Signing(role="The buyer"), Signing(role="For the depot"))


def warnings_of(paper: Acknowledgement) -> tuple[str, ...]:
    """Return all the paper warns of, each once: transport, approval, examination, the rest."""
    own = (
        _NOT_FOR_TRANSPORT,
        _APPROVAL_SAYS[paper.approval],
        _EXAMINATION_SAYS[paper.examination],
    )
    return tuple(dict.fromkeys(says for says in (*own, *paper.warnings) if says))


def acknowledgement_pdf(paper: Acknowledgement) -> bytes:
    """Return the paper as PDF."""
    mark = particulars.write_mark(paper.unit)
    values = {
        "title": "Buyer's acknowledgement",
        "subject": mark,
        "subtitle": "",
        "issue": particulars.issue_values(paper.issue),
        "deal": _deal(paper),
        "warning_says": "Read this before you sign. It was gone through with you point by point.",
        "warnings": warnings_of(paper),
        "cautions": cautions.FOR_BUYERS,
        "defer": cautions.DEFER,
        "understood": (
            f"I have read what is written above about the unit {mark}, it was explained to me, and "
            "I will hand this paper on to whoever takes the unit over from me."
        ),
        "signings": signing_values(paper.signings),
    }
    return typesetting.typeset("acknowledgement", values, paper.issue.at)


def _deal(paper: Acknowledgement) -> list[list[str]]:
    unit = particulars.unit_values(paper.unit)
    words = f" · {unit['size_words']}" if unit["size_words"] else ""
    names, kilograms = unit["masses"][:2]
    masses = ", ".join(
        f"{name} {said}" for name, said in zip(names, kilograms, strict=True) if name
    )
    return [
        ["Size and type", f"{unit['size_type']}{words}"],
        ["Masses", masses],
        *unit["facts"],
        ["Condition as sold", paper.condition or "as it is"],
        ["Sale", paper.sale_reference or "no reference"],
        *particulars.party_values((paper.buyer,)),
    ]
