"""What an inspection may say, and that people named inside it stand apart."""

import pytest
from pydantic import ValidationError

from schemas.records import Claim, OpenDamage, Record, dump_record, load_record
from tests.support.events import UNIT, make_event, make_payload
from tracker.services.reading import personal_values, with_tokens

GAS = {"ventilated_by": "Ada Quill", "tested_by": "Orin Vale", "entered": True}
LIGHT = {"by": "Ada Quill", "second_person": "Tom Reed", "daylight_seen": False}


def damage(**said: object) -> object:
    return make_event(
        "inspection", damages=[{"component": "door-panel", "kind": "dented"} | said]
    ).damages[0]  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("component", "kind"), [("door-panel", "dented"), ("Door panel", "DENTED")]
)
def test_component_and_kind_are_read_by_key_or_words_and_written_by_key(
    component: str, kind: str
) -> None:
    event = make_event("inspection", damages=[{"component": component, "kind": kind}])
    assert '"component":"door-panel","kind":"dented"' in event.model_dump_json()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"component": "wing"}, "'wing' is no component"),
        ({"kind": "sad"}, "'sad' is no kind of damage"),
        ({"component": 7}, "'7' is no component"),
        ({"measure": "girth"}, "measure"),
        ({"measured_mm": 1.5}, "measured_mm"),
        ({"photos": ["ff"]}, "photos"),
        ({"out_of": 0}, "out_of"),
    ],
)
def test_damage_out_of_shape_is_refused_with_what_is_expected(
    said: dict[str, object], words: str
) -> None:
    with pytest.raises(ValidationError, match=words):
        damage(**said)


@pytest.mark.parametrize(
    "said",
    [
        {"answers": {"roof": {"found": "fine"}}},
        {"answers": {"Roof": {"found": "good"}}},
        {"answers": {"roof": {}}},
        {"answers": {"roof": {"found": "good", "count": -1}}},
        {"gas": {"result": "perhaps"}},
        {"light_test": {}},
        {"plate": {"photo": "ff"}},
    ],
)
def test_answer_out_of_shape_is_refused(said: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        make_event("inspection", **said)


def test_people_inside_gas_light_test_and_plate_stand_apart() -> None:
    plate = {"no_plate": True, "seen_by": "Ivo Lund"}
    payload = make_payload("inspection", gas=GAS, light_test=LIGHT, plate=plate)
    people = personal_values(payload)
    assert people == {"Tom Reed", "Ada Quill", "Orin Vale", "Ivo Lund"}
    told = with_tokens(payload, {name: f"person:{name[0]}" for name in people})
    assert told["gas"] == {
        "ventilated_by": "person:A",
        "tested_by": "person:O",
        "entered": True,
    }
    assert told["light_test"]["second_person"] == "person:T"
    assert told["plate"] == {"no_plate": True, "seen_by": "person:I"}
    assert payload["gas"] == GAS


def test_people_inside_what_a_correction_changes_stand_apart() -> None:
    changes = {"gas": GAS, "plate": {"seen_by": "Ivo Lund"}, "slot": "A1"}
    payload = make_payload("correction", changes=changes, withdrawn=None)
    people = personal_values(payload)
    assert {"Ada Quill", "Orin Vale", "Ivo Lund"} <= people
    told = with_tokens(payload, dict.fromkeys(people, "person:x"))
    assert told["changes"]["gas"]["tested_by"] == "person:x"
    assert told["changes"]["plate"] == {"seen_by": "person:x"}
    assert told["changes"]["slot"] == "A1"


def test_gate_in_may_name_who_saw_no_plate() -> None:
    payload = make_payload("gate-in", plate={"no_plate": True, "seen_by": "Ivo Lund"})
    assert "Ivo Lund" in personal_values(payload)


def test_record_with_claims_damages_and_air_reads_back_the_same() -> None:
    record = Record(
        UNIT,
        claims=[Claim("c", "roof torn", "2026-03-02", "Vale Lines", "2026-03-05")],
        damages=[OpenDamage("d", "sill", "bent", "soon", "", measure="crack", photos=["ab"])],
        placards="UN 1090",
        last_cargo="hides",
        air="suspect",
    )
    body = dump_record(record)
    assert load_record(body) == record
    assert dump_record(load_record(body)) == body


def test_record_from_before_there_were_claims_is_read() -> None:
    body = dump_record(Record(UNIT)).replace(b'"claims":[],', b"").replace(b'"air":"unknown",', b"")
    assert b"claims" not in body
    assert load_record(body) == Record(UNIT)
