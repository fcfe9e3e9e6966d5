"""What goes wrong today: each incident with its events, and what it comes to in plain words.

An incident's events are handed in step by step: the next only when the verdicts of the last stand,
as it is where a person looks first and answers then.
"""

from __future__ import annotations

from datetime import datetime
from itertools import chain
from string import digits
from typing import Final

from deploy.demo.boxes import Box
from deploy.demo.cast import Cast
from deploy.demo.house import BUYERS, QUAY, SALES_DESK, TARN
from deploy.demo.incidents import Desk, Incident
from deploy.demo.reports import Pen
from deploy.demo.trade import tell_trade
from shared import marks
from shared.masses import write_kilograms
from tracker.judge.entry import question_id

_OFF_BY_KG: Final = 250


def tell_today(cast: Cast, moment: datetime) -> list[Incident]:
    """Return the incidents in the order in which they are told."""
    desk = Desk(Pen("today"), moment)
    return [
        _misread(desk, cast.misread),
        _still_misread(desk, cast.still_misread),
        _second_gate_in(desk, cast.twice_in),
        _wrong_masses(desk, cast.weighed_wrong),
        _late(desk, cast.late),
        _corrected(desk, cast),
        _sold_twice(desk, cast.sold_twice),
        _unreleased(desk, cast),
        *tell_trade(desk, cast.trade),
    ]


def misread(mark: str) -> str:
    """Return the mark with two neighbours of its serial swapped, so that it cannot be right.

    Where no swap shows, because the digits match or the digits 0 and 10 are one, a digit is wrong.
    """
    swapped = (mark[:at] + mark[at + 1] + mark[at] + mark[at + 2 :] for at in (8, 7, 6, 5, 4))
    wrong = (mark[:9] + digit + mark[10] for digit in digits)
    return next(text for text in chain(swapped, wrong) if not marks.is_sound(text))


def _misread(desk: Desk, box: Box) -> Incident:
    read = misread(box.mark)
    came = desk.gate_in(TARN, box, 340, mark=read)
    seen = desk.fact(
        TARN,
        read,
        "inspection",
        290,
        reported_by=TARN.workshop,
        condition="cargo-worthy",
        plate=box.plate(),
    )
    answered = desk.decision(
        TARN,
        TARN.gate,
        "answer",
        question=question_id(str(came.id), "mark.check-digit", "mark"),
        settlement="value",
        right_mark=box.mark,
    )
    return Incident(
        "A misread number",
        f"The gate at {TARN.name} read {read}; its check digit cannot be right, so a unit in "
        f"question was opened and could not be sold. The workshop inspected it under the same "
        f"number. One answer, {box.mark}, brought both events home to the box that was expected.",
        (f"hardstand unit {box.mark}", f"hardstand unit {read}"),
        ((came, seen), (answered,)),
    )


def _still_misread(desk: Desk, box: Box) -> Incident:
    read = misread(box.mark)
    came = desk.gate_in(QUAY, box, 120, mark=read)
    asked = question_id(str(came.id), "mark.check-digit", "mark")[:8]
    return Incident(
        "Another, left for you",
        f"{QUAY.name} read {read}. Until somebody answers, it stands in the stock as a unit in "
        f"question. The box that is expected there is {box.mark}.",
        (
            "hardstand questions",
            f"hardstand answer {asked} --mark {box.mark} --by '{QUAY.gate}' --depot {QUAY.code}",
        ),
        ((came,),),
    )


def _second_gate_in(desk: Desk, box: Box) -> Incident:
    came = desk.fact(QUAY, box.mark, "gate-in", 200, purpose="transfer", slot="C7-1")
    return Incident(
        "A second gate-in",
        f"{box.mark} came in at {QUAY.name}, but by the record it never left {TARN.name}. Both "
        "reports stand; a question asked whether a departure was missed.",
        (f"hardstand unit {box.mark}", f"hardstand questions --depot {QUAY.code}"),
        ((came,),),
    )


def _wrong_masses(desk: Desk, box: Box) -> Incident:
    masses = box.masses()
    masses = {name: masses[name] for name in ("gross_kg", "tare_kg", "payload_kg")}
    masses["payload_kg"] -= _OFF_BY_KG
    came = desk.gate_in(TARN, box, 170, masses=masses)
    return Incident(
        "Weights that do not add up",
        f"{box.mark} came in with a payload {write_kilograms(_OFF_BY_KG)} too low for its "
        "gross and its tare. "
        "The arrival is recorded, none of the three masses was believed, and a question opened.",
        (f"hardstand unit {box.mark}", f"hardstand questions --depot {TARN.code}"),
        ((came,),),
    )


def _late(desk: Desk, box: Box) -> Incident:
    seen = desk.fact(QUAY, box.mark, "sighting", 150, slot="D2-2")
    came = desk.fact(QUAY, box.mark, "gate-in", 230, purpose="transfer", slot="D2-1")
    return Incident(
        "A late event from an offline phone",
        f"{box.mark} was under way from {TARN.name}. It was seen on the ground of {QUAY.name} "
        "before anybody had reported its arrival, which opened a question. Then the phone that "
        "had been offline handed in the gate-in of before: it took its place in time, and the "
        "question was gone.",
        (f"hardstand unit {box.mark}",),
        ((seen,), (came,)),
    )


def _corrected(desk: Desk, cast: Cast) -> Incident:
    box = cast.corrected
    corrected = desk.decision(
        TARN,
        TARN.workshop,
        "correction",
        corrects=cast.wrong_inspection,
        reason="ticked the wrong line; looked at it again",
        changes={"condition": "cargo-worthy"},
    )
    return Incident(
        "A correction",
        f"The workshop had graded {box.mark} as it is; it is cargo-worthy. The correction takes "
        "the place of what it corrects, and both stay in the history.",
        (f"hardstand unit {box.mark}",),
        ((corrected,),),
    )


def _sold_twice(desk: Desk, box: Box) -> Incident:
    said = {"mark": box.mark, "intended_use": "storage", "paid": True}
    first, second = (
        desk.decision(QUAY, SALES_DESK, "sale", buyer=buyer, **said)
        for buyer in (BUYERS[0], BUYERS[4])
    )
    return Incident(
        "A double sale",
        f"{box.mark} was sold to {BUYERS[0]}. A moment later it was to be sold to {BUYERS[4]}: "
        "refused, since it is sold already.",
        (f"hardstand unit {box.mark}",),
        ((first,), (second,)),
    )


def _unreleased(desk: Desk, cast: Cast) -> Incident:
    box = cast.unreleased
    left = desk.fact(QUAY, box.mark, "gate-out", 45, purpose="sale", vehicle="ZZ 00 DEMO")
    return Incident(
        "A box that left without release",
        f"{box.mark} was sold to {cast.first_buyer} and not yet released, but it left {QUAY.name} "
        "all the same. It is recorded as a breach, and the manager was told by mail at once.",
        (f"hardstand unit {box.mark}", "hardstand alerts"),
        ((left,),),
    )
