"""The table of what falls due reads as it says, and each schedule ends."""

import pytest

from shared.due_schedule import Schedule, schedules
from shared.table_files import Certainty

KINDS = sorted(schedules())


def test_every_kind_stands_in_the_table_once() -> None:
    assert len(KINDS) == 14
    assert all(name == one.kind for name, one in schedules().items())


@pytest.mark.parametrize("kind", KINDS)
def test_schedule_is_ours_told_in_order_and_escalated_last(kind: str) -> None:
    one = schedules()[kind]
    assert (one.source, one.certainty) == ("Hardstand design", Certainty.DESIGN)
    assert one.role in {"gate", "workshop", "sales", "manager"}
    assert list(one.tells) == sorted(set(one.tells))
    assert one.grace_days >= 0
    if one.escalates_on is not None:
        assert one.escalates_on > one.tells[-1]


def test_only_what_ends_by_itself_is_not_escalated() -> None:
    ends = {kind for kind, one in schedules().items() if one.escalates_on is None}
    assert ends == {"reservation-expiring"}


def test_days_ahead_come_before_the_others_and_once_each() -> None:
    one = Schedule("k", "ks", "gate", 0, (-7, 1), 8, "s", Certainty.DESIGN)
    assert one.days() == (-7, 1, 8)
    assert one.days((30, 7)) == (-30, -7, 1, 8)
