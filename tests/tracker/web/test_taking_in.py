"""Readiness while the database answers but takes nothing in, as on a full disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.support.depot import OTHER, report
from tests.support.web import Site, post
from tracker.services.actor import Scope
from tracker.web import taking_in

if TYPE_CHECKING:
    from starlette.testclient import TestClient

_FULL = """
CREATE FUNCTION refuse_all() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'could not extend file: No space left on device' USING ERRCODE = '53100'; END
$$;
CREATE TRIGGER full_disk BEFORE INSERT ON intake EXECUTE FUNCTION refuse_all();
"""
_ROOM = "DROP TRIGGER full_disk ON intake"


def readiness(client: TestClient) -> tuple[int, bool, str]:
    answer = client.get("/ready")
    said = answer.json()
    assert said["ready"] == said["taking_in"] == (answer.status_code == 200)
    return answer.status_code, said["taking_in"], said["database"]


def is_measured(site: Site) -> bool:
    text = site.machine(Scope.READ).get("/metrics").text
    return "hardstand_intake_failing 1.0" in text.splitlines()


def test_ready_is_denied_from_the_first_refusal_until_something_is_taken(site: Site) -> None:
    gate = site.person("NORTH:gate")
    assert readiness(gate) == (200, True, "up")
    site.depot.change(_FULL)
    assert post(gate, report("gate-in")).status_code == 503
    assert readiness(gate) == (503, False, "up")
    assert is_measured(site)
    site.depot.change(_ROOM)
    assert post(gate, report("gate-in", OTHER)).status_code == 202
    assert readiness(gate) == (200, True, "up")
    assert not is_measured(site)


def test_ready_is_told_again_after_a_while_in_which_nobody_tried(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate = site.person("NORTH:gate")
    site.depot.change(_FULL)
    assert post(gate, report("gate-in")).status_code == 503
    monkeypatch.setattr(taking_in, "_REMEMBERED_S", 0)
    assert readiness(gate) == (200, True, "up")


def test_event_that_cannot_be_read_says_nothing_against_the_database(site: Site) -> None:
    gate = site.person("NORTH:gate")
    assert post(gate, b'{"kind": "gate-in"}').status_code == 200
    assert post(gate, report("gate-in", note="\0")).status_code in (200, 422)
    assert readiness(gate) == (200, True, "up")
