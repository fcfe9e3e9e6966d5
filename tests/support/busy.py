"""A depot in which something of most kinds stands open, and the names by which it is known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.support.depot import BOX, OTHER, THIRD, id_of, report
from tests.support.marks import make_mark
from tests.support.pictures import make_photo, make_scene
from tracker.services import on_duty, stock_check
from tracker.services.collection_notes import collection_note_of
from tracker.services.daily_round import make_rounds
from tracker.services.photos import take_photo
from tracker.services.sight import Sight

if TYPE_CHECKING:
    from tests.support.web import Site

ORDERED = make_mark("ZZZU300004")
GONE = make_mark("ZZZU300005")
_WANTED = {"length_ft": 20, "types": ["G"], "conditions": []}
_PLATE = {
    "manufactured_in": "2025-01",
    "next_examination": "2029-12",
    "gross_kg": 30480,
    "stacking_kg": 192000,
    "racking_n": 150000,
}

_DENT = {"component": "header", "kind": "dented", "on_lorry": True, "responsible": "Hob"}
_DOUBTED = {"gross_kg": 30480, "tare_kg": 99999}

Known = dict[str, list[Any]]
"""The name of a field -> values under which something is found."""


_ARRIVALS = ("came", "came doubted", "came third", "came for an order", "came and went")


def make_busy(site: Site) -> Known:
    """Let a depot have a few days of everything; return what leads to it, by the field's name."""
    depot = site.depot
    photo = take_photo(depot.web, make_photo(make_scene(640, 480))).digest
    said = _said(photo)
    depot.record(*(said[name] for name in _ARRIVALS))
    depot.record(*(body for name, body in said.items() if name not in (*_ARRIVALS, "given")))
    depot.record(said["given"])
    stock_check.begin(depot.web, "NORTH", "Ada Quill", check_id="NORTH-1")
    make_rounds(depot.worker)
    on_duty.begin(depot.web, "NORTH", "bo@depot.test", name="Bo Thorn", by="Ada Quill")
    site.add_person("bo", "NORTH:gate")
    outcomes = depot.outcomes()
    assert {name for name, body in said.items() if outcomes.get(id_of(body)) != "recorded"} == set()
    ids = {name: id_of(body) for name, body in said.items()}
    return _by_event(ids) | _by_name(site, ids, photo)


def _said(photo: str) -> dict[str, bytes]:
    """Return what is reported, by a name of its own."""
    order = report("order", None, buyer="Ada Quill", description=_WANTED, count=2, paid=True)
    came, came_doubted, third, for_order, went = _ARRIVALS
    return {
        came: report("gate-in", size_type="22G1", slot="A1-1", plate=_PLATE, photos=[photo]),
        came_doubted: report("gate-in", OTHER, size_type="45G1", masses=_DOUBTED),
        third: report("gate-in", THIRD, size_type="22G1", slot="A1-3"),
        for_order: report("gate-in", ORDERED, size_type="22G1", colour="blue"),
        went: report("gate-in", GONE, size_type="22G1"),
        "announced": report("pre-advice", make_mark("ZZZU300006"), batch="B-7"),
        "inspected": report("inspection", damages=[_DENT]),
        "work": report("work-order", lines=[{"work": "lock-box"}], due_on="2026-03-01"),
        "hold": report("hold", OTHER, hold="do-not-lift", reason="a corner post is bent"),
        "sale": report("sale", paid=False, price="1900.00", currency="EUR"),
        "order": order,
        "left": report("gate-out", GONE, happened_at="2026-03-02T07:30:00+00:00"),
        "notice": report("claim-notice", GONE, to="haulier"),
        "given": report(
            "release", None, order=id_of(order), count=2, reference=None, haulier="Hob"
        ),
    }


def _by_event(ids: dict[str, str]) -> Known:
    return {
        "event_id": list(ids.values()),
        "corrects": list(ids.values()),
        "cancels": [ids[name] for name in ("sale", "order", "work", "given")],
        "clears": [ids["hold"]],
        "closes": [ids["notice"]],
        "pays": [ids["sale"], ids["order"]],
        "order": [ids["order"]],
        "order_id": [ids["order"]],
        "note_id": [ids["given"]],
    }


def _by_name(site: Site, ids: dict[str, str], photo: str) -> Known:
    depot = site.depot
    questions = [str(row["id"]) for row in depot.rows("SELECT id FROM questions")]
    alerts = [row["kind"] for row in depot.rows("SELECT DISTINCT kind FROM alerts")]
    note = collection_note_of(depot.web, Sight(None), ids["order"], ids["given"])
    marks = [BOX, OTHER, THIRD, ORDERED, GONE]
    return {
        **dict.fromkeys(("mark", "right_mark", "new_mark", "unit"), marks),
        **{key: ["NORTH", "SOUTH"] for key in ("depot", "to_depot")},
        **{key: ["NORTH-1"] for key in ("check", "check_id")},
        **{key: [photo] for key in ("digest", "photo")},
        **dict.fromkeys(("question", "question_id"), questions),
        **dict.fromkeys(("Acknowledgement.kind", "PuttingOff.kind"), alerts),
        **{key: [None] for key in ("Acknowledgement.cause", "PuttingOff.cause")},
        "PuttingOff.until": ["2026-03-20"],
        "batch": ["B-7"],
        "size_type": ["22G1", "45G1", "42U1"],
        "slot": ["A1-1", "A1-3"],
        "work": ["lock-box", "small-vent"],
        "reference": [note.reference],
        "happened_at": ["2026-03-01T12:00:00+00:00", "2026-03-02T07:45:00+00:00"],
    }
