"""Which field of a form a fault of its event is about, and what whoever filled it in is told."""

from __future__ import annotations

import orjson
import pytest

from schemas.verdicts import FieldFault
from tests.support.depot import report
from tests.support.web import Site
from tracker.services.reading import EventUnreadableError, read_event
from tracker.web.pages.put_right import fields_to_mend, kept_fields

SENT = [
    ("kind", "inspection"),
    ("mark", "ZZZU3000014"),
    ("masses.tare_kg:int", "about 2000"),
    ("!damages", "component"),
    ("damages.0.kind", "bent"),
    ("damages.2.component", "floor"),
    ("damages.2.measured_mm:int", "4 cm"),
    ("note", ""),
]


def fault(field: str) -> FieldFault:
    return FieldFault(field=field, says="It is wrong.")


@pytest.mark.parametrize(
    ("path", "name", "label", "value"),
    [
        ("mark", "mark", "Number on the box", "ZZZU3000014"),
        ("masses.tare_kg", "masses.tare_kg:int", "Tare", "about 2000"),
        # The first damage was not filled in, so the event's first is the form's third.
        ("damages.0.measured_mm", "damages.2.measured_mm:int", "Damages measured (mm)", "4 cm"),
        ("slot", "slot", "Where it is set down", ""),
        ("", "mark", "Number on the box", "ZZZU3000014"),
    ],
)
def test_fault_leads_to_the_field_of_the_form(path: str, name: str, label: str, value: str) -> None:
    (field,) = fields_to_mend(SENT, [fault(path)])
    assert (field.name, field.label, field.value) == (name, label, value)
    kept = kept_fields(SENT, [field])
    assert len(kept) == len(SENT) - (name in dict(SENT))
    assert name not in dict(kept)


def test_field_with_two_faults_is_asked_for_once() -> None:
    assert len(fields_to_mend(SENT, [fault("mark"), fault("mark")])) == 1


@pytest.mark.parametrize(
    ("said", "field", "says"),
    [
        ({"slot": "by the fence"}, "slot", "It is not written as it should be."),
        (
            {"masses": {"tare_kg": "about"}},
            "masses.tare_kg",
            "Give a whole number, without letters.",
        ),
        ({"happened_at": None}, "happened_at", "It is missing."),
        ({"seal": "x" * 201}, "seal", "It is too long: at most 200 characters."),
        ({"masses": {"tare_kg": -1}}, "masses.tare_kg", "Should be greater than or equal to 0."),
    ],
)
def test_fault_is_told_in_words_for_a_person(
    said: dict[str, object], field: str, says: str
) -> None:
    with pytest.raises(EventUnreadableError) as raised:
        read_event(report("gate-in", **said))
    assert raised.value.faults == (FieldFault(field=field, says=says),)


def test_sender_who_keeps_what_cannot_be_read_gets_it_back(site: Site) -> None:
    client = site.person("NORTH:gate")
    bodies = [report("gate-in", slot="by the fence"), report("gate-in", slot="a1")]
    answer = client.post("/api/events?unreadable=back", content=b"[" + b",".join(bodies) + b"]")
    back, taken = answer.json()
    assert (back["state"], back["accepted"], back["id"]) == ("rejected", False, None)
    assert [one["field"] for one in back["faults"]] == ["slot"]
    assert (taken["state"], taken["faults"]) == ("waiting", [])
    assert site.depot.one("SELECT count(*) FROM unreadable") == 0
    alone = client.post("/api/events?unreadable=back", content=bodies[0])
    assert alone.status_code == 422
    kept = client.post("/api/events", content=bodies[0])
    assert orjson.loads(kept.content)["state"] == "held"
