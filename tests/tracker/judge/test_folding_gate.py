"""How arrivals change a record, where no other file of tests tells it."""

from __future__ import annotations

import pytest

from schemas.records import NOT_OURS, is_free
from tests.support.events import START, make_entry, make_record
from tracker.judge.fold import extend


@pytest.mark.parametrize("purpose", sorted(NOT_OURS))
def test_box_of_others_stays_theirs_when_it_comes_from_another_depot_of_ours(purpose: str) -> None:
    record = make_record()
    extend(record, make_entry("gate-in", purpose=purpose, happened_at="2026-02-01T08:00:00Z"))
    extend(record, make_entry("gate-in", purpose="transfer", happened_at="2026-02-02T08:00:00Z"))
    assert record.purpose == purpose
    assert not is_free(record, START)


def test_own_box_comes_by_transfer_as_transferred() -> None:
    record = make_record()
    extend(record, make_entry("gate-in", purpose="purchase", happened_at="2026-02-01T08:00:00Z"))
    extend(record, make_entry("gate-in", purpose="transfer", happened_at="2026-02-02T08:00:00Z"))
    assert record.purpose == "transfer"
