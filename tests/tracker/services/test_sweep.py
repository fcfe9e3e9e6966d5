from collections.abc import Iterable

from tests.support.depot import Depot, lane_of, marks_of, report
from tracker.services.sweep import sweep, sweep_alone
from tracker.store import lanes


class NotingAnnouncer:
    """Notes what it is asked to announce."""

    def __init__(self) -> None:
        self.told: list[list[int]] = []

    def announce(self, lanes: Iterable[int]) -> None:
        """Note the lanes."""
        self.told.append(list(lanes))

    def begin(self, lane: int) -> None:
        """Fail: a sweep drains nothing."""
        raise AssertionError(lane)


def test_sweep_announces_each_lane_with_work_once_in_order(depot: Depot) -> None:
    announcer = NotingAnnouncer()
    sweeping = depot.with_announcer(announcer)
    fleet = [mark for mark in marks_of(30) if lane_of(mark) in (1, 3)]
    depot.send(*(report("gate-in", mark) for mark in reversed(fleet)))
    assert sweep(sweeping.web) == [1, 3]
    assert sweep(sweeping.web) == [1, 3]
    depot.drain_all()
    assert sweep(sweeping.web) == []
    assert announcer.told == [[1, 3], [1, 3], []]


def test_sweep_leaves_alone_what_is_held(depot: Depot) -> None:
    depot.send(report("gate-in"))
    depot.change("UPDATE intake SET body = '{}'")
    depot.drain_all()
    assert depot.one("SELECT count(*) FROM intake") == 1
    assert sweep(depot.worker) == []


def test_who_sweeps_in_case_nobody_does_leaves_it_to_another_who_is_about_it(depot: Depot) -> None:
    announcer = NotingAnnouncer()
    sweeping = depot.with_announcer(announcer)
    depot.send(report("gate-in"))
    with depot.web.engine.begin() as another:
        assert lanes.try_sweep_lock(another)
        assert sweep_alone(sweeping.web) == []
    assert sweep_alone(sweeping.web) == sweep(depot.worker) != []
    assert [told for told in announcer.told if told] == [sweep(depot.worker)]
