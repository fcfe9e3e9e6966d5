"""Two boxes get louvre vents and a lock box: one is sold to stand, one to travel.

A 20 ft box of 30 480 kg gross and 2 230 kg tare gets 4 louvre vents of 3 kg and a lock box of 9 kg,
nothing cut out counted. Its tare is 2 251 kg then and its payload 28 229 kg, whatever its doors
say; and the doors must say so before it travels.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from schemas.findings import Finding, Severity
from shared.cautions import CUTTING
from shared.clock import StandingClock
from tests.conftest import MONDAY_MORNING
from tests.support.command_line import CommandLine, GivenMeans
from tests.support.depot import BOX, OTHER, Depot, report
from tracker.services.may_leave import may_leave

if TYPE_CHECKING:
    from shared.settings import Settings

FOR_STORAGE, FOR_EXPORT = BOX, OTHER

PAINTED = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
PAINTED_ANEW = {"gross_kg": 30480, "tare_kg": 2251, "payload_kg": 28229}
PLATE = {
    "approval_reference": "GB-LR 1001/01",
    "manufacturer_number": "QX 44871",
    "manufactured_in": "2024-06",
    "next_examination": "2028-11",
    "gross_kg": 30480,
    "stacking_kg": 192000,
    "racking_n": 150000,
    "photo": "ab" * 32,
}
FITTINGS = [
    {"work": "louvre-vent", "count": 4, "mass_kg": 3},
    {"work": "lock-box", "count": 1, "mass_kg": 9},
]
LINES = [{"work": "louvre-vent", "count": 4}, {"work": "lock-box"}]
STANDS_AGAINST = {"release.masses-to-repaint", "release.to-weigh", "release.approval-void"}


def say(depot: Depot, kind: str, mark: str, minute: int, **others: object) -> dict[str, Finding]:
    """Report something that minute, as it happens; return what was found about it, by id."""
    now = MONDAY_MORNING + timedelta(minutes=minute)
    assert isinstance(depot.web.clock, StandingClock)
    depot.web.clock.set(now)
    happened_at = now.isoformat()
    (receipt,) = depot.record(report(kind, mark, happened_at=happened_at, **others))
    assert receipt.verdict is not None
    found = {one.id: one for one in receipt.verdict.findings}
    refused = any(one.severity is Severity.REFUSE for one in found.values())
    assert receipt.state == ("refused" if refused else "recorded")
    return found


def against_leaving(depot: Depot, mark: str) -> tuple[bool, dict[str, Severity]]:
    """Return whether the unit may leave, and with which weight each thing stands against it."""
    leave = may_leave(depot.web, mark)
    return leave.is_given, {one.id: one.severity for one in leave.findings}


def refusals(found: dict[str, Finding]) -> set[str]:
    return {name for name, one in found.items() if one.severity is Severity.REFUSE}


def fit_out(depot: Depot, mark: str) -> dict[str, Finding]:
    """Take a box in, read its plate, and fit the vents and the lock box as ordered."""
    say(depot, "gate-in", mark, 1, size_type="22G1", masses=PAINTED)
    say(depot, "inspection", mark, 5, plate=PLATE)
    ordered = say(depot, "work-order", mark, 10, lines=LINES, due_on="2026-03-06")
    assert CUTTING in ordered["work.cuts-the-shell"].message
    (order,) = depot.show(mark).record["orders"]
    return say(
        depot,
        "modification",
        mark,
        20,
        fittings=FITTINGS,
        order=order["id"],
        approval_effect="ask",
    )


def masses_of(record: dict[str, Any]) -> tuple[int, int, int]:
    return record["gross_kg"], record["tare_kg"], record["payload_kg"]


@pytest.fixture
def shell(settings: Settings, clock: StandingClock) -> CommandLine:
    return CommandLine(GivenMeans(settings, clock))


def test_tare_is_recomputed_with_its_sum_and_the_doors_are_to_be_painted(
    depot: Depot, shell: CommandLine
) -> None:
    found = fit_out(depot, FOR_STORAGE)
    said = found["work.tare-recomputed"].message
    assert said == (
        "Tare 2 230 kg + 4 x 3 kg + 1 x 9 kg = 2 251 kg; payload 30 480 - 2 251 = 28 229 kg. "
        "Paint both on the doors."
    )
    assert found["work.weigh-after-cutting"].seen == "louvre-vent"
    record = depot.show(FOR_STORAGE).record
    assert masses_of(record) == (30480, 2251, 28229)
    assert (record["painted_tare_kg"], record["repaint"]) == (2230, ["masses"])
    assert (record["approval"], record["to_weigh"], record["orders"]) == ("ask", True, [])
    shown = {
        line.strip().partition("  ")[0]: line.partition("  ")[2].strip()
        for line in shell.run("unit", FOR_STORAGE).stdout.splitlines()
    }
    assert shown["Tare kg"] == "2251"
    assert shown["Payload kg"] == "28229"
    assert shown["Gross kg"] == "30480"
    assert shown["To repaint"] == "masses"
    assert shown["To weigh"] == "its shell was cut"
    assert "4 x 3 kg + 1 x 9 kg = 2 251 kg" in " ".join(
        one["message"]
        for row in shell.ask("unit", FOR_STORAGE)["history"]
        for one in row["findings"]
    )


def test_box_that_is_to_stand_leaves_with_warnings_and_without_once_it_is_painted(
    depot: Depot,
) -> None:
    fit_out(depot, FOR_STORAGE)
    assert say(depot, "sale", FOR_STORAGE, 25, intended_use="storage", paid=True) == {}
    released = say(depot, "release", FOR_STORAGE, 26)
    assert released.keys() == STANDS_AGAINST
    may, against = against_leaving(depot, FOR_STORAGE)
    assert (may, against) == (True, dict.fromkeys(STANDS_AGAINST, Severity.WARN))
    say(depot, "modification", FOR_STORAGE, 30, weighed_tare_kg=2251)
    say(
        depot,
        "plate-change",
        FOR_STORAGE,
        31,
        action="confirmed",
        approved_by="Quill Certification",
    )
    assert against_leaving(depot, FOR_STORAGE) == (
        True,
        {"release.masses-to-repaint": Severity.WARN},
    )
    say(depot, "marking", FOR_STORAGE, 32, action="repainted", masses=PAINTED_ANEW)
    assert against_leaving(depot, FOR_STORAGE) == (True, {})


def test_box_that_is_to_travel_stays_until_it_is_weighed_confirmed_and_painted(
    depot: Depot,
) -> None:
    fit_out(depot, FOR_EXPORT)
    say(
        depot,
        "acquisition",
        FOR_EXPORT,
        22,
        owner="Hardstand Trading",
        title_evidence="bill of sale 7",
        title_passed_on="2026-02-20",
        customs="free-circulation",
    )
    say(
        depot,
        "sale",
        FOR_EXPORT,
        25,
        intended_use="export",
        paid=True,
        journey_ends_on="2026-06-30",
    )
    assert refusals(say(depot, "release", FOR_EXPORT, 26)) == STANDS_AGAINST
    may, against = against_leaving(depot, FOR_EXPORT)
    assert not may
    assert {name for name in STANDS_AGAINST if against[name] is Severity.REFUSE} == STANDS_AGAINST

    say(depot, "modification", FOR_EXPORT, 30, weighed_tare_kg=2251)
    assert refusals(say(depot, "release", FOR_EXPORT, 31)) == STANDS_AGAINST - {"release.to-weigh"}

    say(
        depot, "plate-change", FOR_EXPORT, 32, action="confirmed", approved_by="Quill Certification"
    )
    assert refusals(say(depot, "release", FOR_EXPORT, 33)) == {"release.masses-to-repaint"}

    # Somebody paints the old figures back: the doors are asked about, and the box stays.
    wrong = say(depot, "marking", FOR_EXPORT, 34, action="repainted", masses=PAINTED)
    assert wrong["work.painted-tare-differs"].expected == "2 251 kg"
    assert refusals(say(depot, "release", FOR_EXPORT, 35)) == {"release.masses-to-repaint"}

    say(depot, "marking", FOR_EXPORT, 36, action="repainted", masses=PAINTED_ANEW)
    record = depot.show(FOR_EXPORT).record
    assert (masses_of(record), record["repaint"]) == ((30480, 2251, 28229), [])
    assert refusals(say(depot, "release", FOR_EXPORT, 37)) == set()
    may, against = against_leaving(depot, FOR_EXPORT)
    assert may
    assert Severity.REFUSE not in against.values()
