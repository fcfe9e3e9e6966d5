"""The owner codes of all marks known are found, whatever is read off a box."""

import pytest

from tests.support.depot import BOX, OTHER, THIRD, Depot, report, states
from tracker.store import marks


@pytest.mark.parametrize(
    "read", ["ZZZZZ1", "ZZZ ZZ 00012", "ZZZZZZZ~", "ZZZ~1", "ZZZU\U0010ffff", "ZZZ"]
)
def test_code_is_found_once_whatever_stands_behind_its_letters(depot: Depot, read: str) -> None:
    before = depot.record(report("gate-in", read), report("gate-in", BOX), report("gate-in", THIRD))
    assert states(before) == ["recorded"] * 3
    with depot.with_limits(statement_timeout=2000) as hurried:
        # Asked before each batch: without an end to it, nothing would be judged any more.
        assert states(hurried.record(report("gate-in", OTHER))) == ["recorded"]
        with hurried.worker.engine.begin() as connection:
            assert marks.owner_codes(connection) == {"HQX", "ZZZ"}
