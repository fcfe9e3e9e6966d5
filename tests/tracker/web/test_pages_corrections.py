"""The form of a correction: what it offers, what it changes, and how the line of time tells it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC
from html import unescape
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pytest

from schemas.events.union import FACTS, KINDS
from shared.ids import new_id
from tests.support.depot import BOX, OTHER, id_of, report
from tests.support.draining import draining
from tests.support.events import make_event
from tracker.services.forget import forget
from tracker.web.pages.changed import Changed, compare
from tracker.web.pages.correction_fields import groups_for, read_changes

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

WRONG = {"gross_kg": 30480, "tare_kg": 2330, "payload_kg": 28150}


def form_of(page: str) -> dict[str, str]:
    """Return what the form of a page sends when nobody touches it."""
    fields = dict(re.findall(r'<input[^>]*name="([^"]+)" value="([^"]*)"', page))
    for name, inner in re.findall(r'<select[^>]*name="([^"]+)">(.*?)</select>', page, re.S):
        chosen = re.search(r'value="([^"]*)" selected', inner)
        fields[name] = chosen.group(1) if chosen else ""
    fields |= dict(re.findall(r'<textarea[^>]*name="([^"]+)"[^>]*>([^<]*)</textarea>', page))
    return {
        name: unescape(one)
        for name, one in fields.items()
        if name not in ("csrf_token", "withdrawn:bool")
    }


def correct(client: TestClient, event: str, **said: str) -> tuple[int, str]:
    """Open the form, change some of it and send it; return the status and the page that follows."""
    sent = client.post(
        f"/corrections/{event}",
        data={**form_of(client.get(f"/corrections/{event}").text), "reason": "Misread.", **said},
    )
    if sent.status_code == 303:
        return 303, client.get(sent.headers["location"]).text
    return sent.status_code, sent.text


def test_wrong_tare_is_corrected_and_the_line_tells_what_it_was(site: Site) -> None:
    arrival = report("gate-in", masses=WRONG, size_type="22G1")
    site.depot.record(arrival)
    client = site.person("NORTH:gate", shown_as="Edda Finch")
    assert f'href="/corrections/{id_of(arrival)}"' in client.get(f"/units/{BOX}").text
    with draining(site):
        status, page = correct(
            client,
            id_of(arrival),
            **{"changes.masses.tare_kg": "2 230", "changes.masses.payload_kg": "28250"},
        )
    assert status == 303
    assert "<del>2\u202f330</del>" in page
    assert "<ins>2\u202f230</ins>" in page
    assert "Why: “Misread.”" in page
    assert "by Edda Finch" in page
    view = site.depot.show(BOX)
    assert (view.record["tare_kg"], view.record["payload_kg"]) == (2230, 28250)
    assert view.history[0]["event"]["masses"] == WRONG
    (changes,) = [row["event"]["changes"] for row in view.history if row["kind"] == "correction"]
    assert changes == {"masses": WRONG | {"tare_kg": 2230, "payload_kg": 28250}}


def test_correction_that_adds_up_no_more_comes_back_as_it_was_typed(site: Site) -> None:
    arrival = report("gate-in", masses=WRONG)
    site.depot.record(arrival)
    client = site.person("NORTH:gate")
    with draining(site):
        status, page = correct(client, id_of(arrival), **{"changes.masses.tare_kg": "2130"})
    assert status == 409
    assert "With these values it still cannot be right" in page
    assert 'name="changes.masses.tare_kg" value="2130"' in page
    assert 'name="was.masses.tare_kg" value="2330"' in page
    assert 'name="reason" value="Misread."' in page
    assert site.depot.show(BOX).record["tare_kg"] == 2330


def test_nothing_changed_no_number_and_no_reason_are_refused_in_words(site: Site) -> None:
    arrival = report("gate-in", masses=WRONG)
    site.depot.record(arrival)
    client = site.person("NORTH:gate")
    with draining(site):
        assert "The correction changes nothing" in correct(client, id_of(arrival))[1]
        said = {"changes.masses.tare_kg": "heavy", "changes.masses.payload_kg": "28250"}
        status, page = correct(client, id_of(arrival), **said)
        assert status == 409
        assert "With these changes the event cannot be read: masses.tare_kg" in unescape(page)
        status, page = correct(client, id_of(arrival), reason=" ", **said)
        assert status == 422
        assert "Not handed in yet" in page


def test_report_on_the_wrong_unit_goes_to_the_right_one(site: Site) -> None:
    site.depot.record(report("gate-in", OTHER))
    restow = report("restow", BOX, slot="B2-1", happened_at="2026-03-02T08:00:00+00:00")
    site.depot.record(report("gate-in", BOX), restow)
    client = site.person("NORTH:manager")
    with draining(site):
        status, page = correct(client, id_of(restow), **{"changes.mark": OTHER})
    assert status == 303
    assert f'gives it to <a class="mark" href="/units/{OTHER}">' in page
    assert site.depot.show(BOX).record["slot"] is None
    assert site.depot.show(OTHER).record["slot"] == "B2-1"
    moved = client.get(f"/units/{OTHER}").text
    assert "Brought here by" in moved
    assert f'href="/corrections/{id_of(restow)}"' in moved


def test_report_that_never_happened_is_taken_out_and_corrected_no_more(site: Site) -> None:
    restow = report("restow", BOX, slot="B2-1", happened_at="2026-03-02T08:00:00+00:00")
    site.depot.record(report("gate-in", BOX), restow)
    client = site.person("NORTH:manager")
    said = {"withdrawn:bool": "yes", "changes.slot": "C1-1"}
    with draining(site):
        status, page = correct(client, id_of(restow), **said)
    assert status == 303
    assert "It takes out" in page
    assert site.depot.show(BOX).record["slot"] is None
    assert f'href="/corrections/{id_of(restow)}"' not in page
    gone = client.get(f"/corrections/{id_of(restow)}")
    assert gone.status_code == 404
    assert "There is nothing to correct here" in gone.text


def test_two_who_correct_different_values_of_one_report_both_have_their_way(site: Site) -> None:
    arrival = report("gate-in", masses=WRONG, slot="A1-1", colour="RAL 5010")
    site.depot.record(arrival)
    first = site.person("NORTH:gate", name="ada")
    second = site.person("NORTH:gate", name="edda")
    shown = form_of(second.get(f"/corrections/{id_of(arrival)}").text)
    with draining(site):
        correct(first, id_of(arrival), **{"changes.slot": "B1-1"})
        said = {**shown, "reason": "Seen again.", "changes.colour": "RAL 3020"}
        assert second.post(f"/corrections/{id_of(arrival)}", data=said).status_code == 303
    record = site.depot.show(BOX).record
    assert (record["slot"], record["colour"]) == ("B1-1", "RAL 3020")


def test_form_sent_twice_corrects_once(site: Site) -> None:
    arrival = report("gate-in", slot="A1-1")
    site.depot.record(arrival)
    client = site.person("NORTH:gate")
    said = form_of(client.get(f"/corrections/{id_of(arrival)}").text)
    said |= {"reason": "Misread.", "changes.slot": "B1-1"}
    with draining(site):
        for _ in range(2):
            assert client.post(f"/corrections/{id_of(arrival)}", data=said).status_code == 303
    assert len(site.depot.show(BOX).history) == 2


def test_correction_is_for_those_whose_the_report_is(site: Site) -> None:
    arrival, sold = report("gate-in"), report("sale", note="By phone.")
    site.depot.record(arrival, sold)
    gate, sales = site.person("NORTH:gate", name="gate"), site.person("NORTH:sales", name="sales")
    assert f"/corrections/{id_of(sold)}" not in gate.get(f"/units/{BOX}").text
    assert f"/corrections/{id_of(sold)}" in sales.get(f"/units/{BOX}").text
    refused = gate.get(f"/corrections/{id_of(sold)}")
    assert refused.status_code == 403
    assert "the role manager or the role sales at NORTH" in refused.text
    assert gate.post(f"/corrections/{id_of(sold)}", data={"reason": "x"}).status_code == 403
    stranger = site.person("SOUTH:manager", name="stranger")
    assert stranger.get(f"/corrections/{id_of(arrival)}").status_code == 404
    assert stranger.get(f"/corrections/{new_id()}").status_code == 404


def test_what_was_decided_is_not_offered_for_correction(site: Site) -> None:
    site.depot.record(report("gate-in"))
    sold = report("sale", note="By phone.")
    site.depot.record(sold)
    fields = form_of(site.person("NORTH:sales").get(f"/corrections/{id_of(sold)}").text)
    assert {"changes.note", "changes.buyer", "changes.reference"} <= set(fields)
    assert not {"changes.mark", "changes.happened_at", "changes.override_reason"} & set(fields)


def test_past_offers_no_correction(site: Site) -> None:
    site.depot.record(report("gate-in"))
    client = site.person("NORTH:manager")
    assert "/corrections/" in client.get(f"/units/{BOX}").text
    assert "/corrections/" not in client.get(f"/units/{BOX}?as_of=2026-03-03").text


def test_forgotten_driver_is_not_brought_back_by_a_correction(site: Site) -> None:
    arrival = report("gate-in", slot="A1-1", driver="Bram Oskell")
    site.depot.record(arrival)
    assert forget(replace(site.depot.web, engine=site.depot.owner), "Bram Oskell")
    client = site.person("NORTH:gate")
    with draining(site):
        assert correct(client, id_of(arrival), **{"changes.slot": "B1-1"})[0] == 303
    changes = site.depot.show(BOX).history[-1]["event"]["changes"]
    assert changes == {"slot": "B1-1"}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_untouched_form_of_every_kind_changes_nothing(kind: str) -> None:
    event = make_event(kind).model_dump(mode="json", exclude_none=True)
    zone = ZoneInfo("Europe/Amsterdam")
    fields = [one for group in groups_for(event, zone) for one in group.fields]
    said = {one.name: one.value for one in fields}
    assert read_changes(event, zone, said) == {}
    assert len({one.name for one in fields}) == len(fields)
    assert kind not in FACTS or any(one.name == "changes.happened_at" for one in fields)


def test_values_are_read_by_what_they_are() -> None:
    event: dict[str, Any] = {
        "kind": "inspection",
        "happened_at": "2026-03-02T07:00:00+00:00",
        "marks_in_place": True,
        "damages": [
            {"component": "floor", "kind": "hole", "count": 1},
            {"component": "sill", "kind": "bent"},
        ],
        "plate": {"no_plate": True, "seen_by": "(forgotten)"},
    }
    said = {
        "changes.happened_at": "2026-03-02T09:30",
        "changes.marks_in_place": "no",
        "changes.damages.1.count": "3",
        "changes.damages.0.count": "",
        "changes.plate.approval_reference": "X/1",
        "changes.gas.outcome": "",
    }
    changes = read_changes(event, ZoneInfo("Europe/Amsterdam"), said)
    assert changes == {
        "happened_at": "2026-03-02T09:30:00+01:00",
        "marks_in_place": False,
        "damages": [
            {"component": "floor", "kind": "hole"},
            {"component": "sill", "kind": "bent", "count": 3},
        ],
        "plate": {"no_plate": True, "approval_reference": "X/1"},
    }


def test_value_left_empty_is_taken_away() -> None:
    event = {"kind": "gate-in", "seal": "77", "masses": {"tare_kg": 2230}}
    said = {"changes.seal": "", "changes.masses.tare_kg": ""}
    assert read_changes(event, UTC, said) == {"seal": None, "masses": None}


def test_comparing_tells_each_value_once_and_what_came_or_went() -> None:
    before = {"id": "1", "happened_at": "2026-03-02T07:00:00+00:00", "seal": "7", "slot": "A1"}
    after = {"id": "2", "happened_at": "2026-03-02T08:00:00+00:00", "slot": "A1", "colour": "red"}
    assert compare(before, after, "UTC") == [
        Changed("happened at", "2 Mar 2026, 07:00", "2 Mar 2026, 08:00"),
        Changed("seal", "7", ""),
        Changed("colour", "", "red"),
    ]
