"""A batch of twenty arrives one short, and with one that nobody had announced.

The supplier's numbers follow each other. One of the twenty is blue and not grey, one is read with a
wrong character at the gate and found again because it is expected; one never comes. The shortage
report says it all, and the pages of the units say what each one is.
"""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING
from uuid import UUID

import pytest
import structlog

from schemas.readings import Masses
from shared.serials import marks_from
from tests.support.command_line import CommandLine, GivenMeans
from tests.support.depot import Depot
from tests.support.lives import Life
from tests.support.marks import make_mark
from tests.support.papers import read_text
from tracker.papers.interchange import interchange_pdf
from tracker.services.check import check
from tracker.services.deliveries import DeliveryUnknownError, show_delivery
from tracker.services.interchange_receipts import receipt_of
from tracker.services.sight import Sight

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from shared.clock import StandingClock
    from shared.settings import Settings

FIRST = make_mark("ZZZU300001")
TWENTY = marks_from(FIRST, 20)
BLUE, MISREAD, MISSING = TWENTY[4], TWENTY[9], TWENTY[19]
STRANGER = make_mark("HQXU500005")
BATCH = "B-2026-14"


@pytest.fixture
def life(depot: Depot, tmp_path: Path) -> Life:
    for code in ("NORTH", "SOUTH"):
        depot.open_depot(code, manager=f"manager@{code.lower()}.example")
    return Life(depot, tmp_path / "mail")


@pytest.fixture
def shell(settings: Settings, clock: StandingClock) -> Iterator[CommandLine]:
    # As `hardstand` itself does: standard output belongs to the command.
    quiet = structlog.make_filtering_bound_logger(logging.CRITICAL)
    structlog.configure(wrapper_class=quiet)
    yield CommandLine(GivenMeans(settings, clock))
    structlog.reset_defaults()


def announce(shell: CommandLine) -> None:
    words = (
        f"pre-advise --from {FIRST} --count 20 --batch {BATCH} --depot NORTH --purpose purchase "
        "--size-type 22G1 --gross-kg 30480 --tare-kg 2230 --manufactured-in 2026-01 --colour grey "
        "--provenance one-trip --approval-reference GB-QX-2001 --expected-on 2026-03-09"
    )
    told = shell.ask(*words.split(), "--by", "Ada Quill", "--supplier", "Farline Works")
    assert [one["verdict"] for one in told] == ["recorded"] * 20


def arrive(life: Life) -> None:
    for minute, mark in enumerate(TWENTY[:19], start=10):
        read = {"colour": "blue"} if mark == BLUE else {"colour": "Grey"}
        life.say(f"2026-03-09 08:{minute}", "gate-in", mark, size_type="22G1", **read)
    life.say("2026-03-09 09:00", "gate-in", STRANGER, batch=BATCH, size_type="22G1")


def test_report_names_the_short_one_the_unexpected_one_and_what_differs(
    life: Life, shell: CommandLine
) -> None:
    announce(shell)
    waiting = life.record(TWENTY[0])
    assert (waiting["presence"], waiting["expected_on"]) == ("expected", "2026-03-09")
    assert (waiting["tare_kg"], waiting["batch"]) == (2230, BATCH)
    before = shell.ask("batch", BATCH, status=1)
    assert before["counts"] == {
        "advised": 20,
        "arrived": 0,
        "missing": 20,
        "unexpected": 0,
        "differing": 0,
    }
    arrive(life)
    found = shell.ask("batch", BATCH, status=1)
    assert found["counts"] == {
        "advised": 20,
        "arrived": 19,
        "missing": 1,
        "unexpected": 1,
        "differing": 1,
    }
    by_state = {unit["mark"]: unit["state"] for unit in found["units"]}
    assert [mark for mark, state in by_state.items() if state != "arrived"] == [STRANGER, MISSING]
    (blue,) = [unit for unit in found["units"] if unit["differs"]]
    assert (blue["mark"], blue["differs"][0]["field"]) == (BLUE, "colour")
    assert (blue["differs"][0]["advised"], blue["differs"][0]["read"]) == ("grey", "blue")
    words = shell.run("batch", BATCH).stdout
    assert "20 announced, 19 arrived, 1 missing, 1 unexpected, 1 otherwise than announced" in words
    assert "colour announced grey, read blue." in words
    life.ends_sound()


def test_expected_number_comes_first_at_the_depot_that_expects_it(
    life: Life, shell: CommandLine
) -> None:
    announce(shell)
    arrive_all_but = [mark for mark in TWENTY if mark != MISREAD]
    life.say("2026-03-09 08:00", "gate-in", arrive_all_but[0])
    as_read = MISREAD[:9] + ("8" if MISREAD[9] != "8" else "3") + MISREAD[10]
    here, there = (
        check(life.depot.web, mark=as_read, size_type=None, masses=Masses(), depot=depot)
        for depot in ("NORTH", "SOUTH")
    )
    assert here.suggestions[0] in [*arrive_all_but[1:], MISREAD]
    assert MISREAD in here.suggestions
    assert MISREAD in there.suggestions


def test_last_one_comes_late_and_ticks_itself_off(life: Life, shell: CommandLine) -> None:
    announce(shell)
    arrive(life)
    life.say("2026-03-12 08:00", "gate-in", MISSING, size_type="22G1")
    found = shell.ask("batch", BATCH, status=1)
    assert (found["counts"]["arrived"], found["counts"]["missing"]) == (20, 0)
    record = life.record(MISSING)
    assert (record["presence"], record["batch"]) == ("in-depot", BATCH)
    assert life.kinds(MISSING) == ["pre-advice", "gate-in"]
    receipt = receipt_of(life.depot.web, Sight(None), UUID(life.told["gate-in"]))
    assert "2 230 kg" in read_text(interchange_pdf(receipt))


def test_other_depot_sees_nothing_of_the_batch(life: Life, shell: CommandLine) -> None:
    announce(shell)
    arrive(life)
    with pytest.raises(DeliveryUnknownError):
        show_delivery(life.depot.web, Sight(frozenset({"SOUTH"})), BATCH)
    assert (
        show_delivery(life.depot.web, Sight(frozenset({"NORTH"})), BATCH)["counts"]
        == (show_delivery(life.depot.web, Sight(None), BATCH)["counts"])
    )
