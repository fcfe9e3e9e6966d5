"""NUL in the values of a correction, whose shapes are any: told at the door, parking nothing."""

from typing import Any

import pytest

from tests.support.depot import BOX, Depot, id_of, report, states


@pytest.mark.parametrize(
    "changes",
    [
        {"mark": "\x00"},
        {"haulier": "a\x00b"},
        {"plate": {"manufactured_in": "\x00"}},
        {"photos": ["\x00"]},
        {"a\x00": 1},
    ],
    ids=["mark", "text", "part", "list", "name"],
)
def test_correction_with_nul_is_held_as_unreadable_and_parks_no_stream(
    depot: Depot, changes: dict[str, Any]
) -> None:
    arrival = report("gate-in")
    depot.record(arrival)
    wrong = report("correction", None, corrects=id_of(arrival), changes=changes)
    assert states(depot.send(wrong)) == ["held"]
    depot.drain_all()
    # What breaks the judge is set aside in the queue, and its unit waits behind it.
    assert depot.one("SELECT count(*) FROM intake") == 0
    assert states(depot.record(report("restow", BOX))) == ["recorded"]
