"""Hypothesis chooses what is sent, drained and repeated; the drains must equal the model.

Unlike the random streams beside it, a failure here can be made as small as it gets: the few events
and the order of drains that it takes.
"""

from __future__ import annotations

import itertools
from contextlib import ExitStack
from datetime import timedelta
from random import Random
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    rule,
    run_state_machine_as_test,
)

from shared.clock import StandingClock
from tests.conftest import MONDAY_MORNING
from tests.support import services as support
from tests.support.pair import open_pair
from tests.support.streams import Stream

if TYPE_CHECKING:
    from tests.support.services import TestServices

EXAMPLES = 10
STEPS = 16
LUCK = st.integers(1, 2**32)
"""Numbers: hypothesis's own luck would draw the same few events again and again."""


def luck_of(*numbers: int) -> Random:
    """Return luck that is the same for the same numbers."""
    return Random(str(numbers))  # noqa: S311 - a test's luck, no secret


class Depot(RuleBasedStateMachine):
    """A depot of its own in a database of its own, told of by `Stream`."""

    trades = False
    template_db: TestServices
    names: itertools.count[int]
    worker: int

    def __init__(self) -> None:
        super().__init__()
        self.open = ExitStack()
        self.clock = StandingClock(MONDAY_MORNING)
        name = f"test_{self.template_db.run}_{self.worker}_machine_{next(self.names)}"
        db = self.open.enter_context(support.copy_template(self.template_db, name))
        made = support.make_settings(db)
        self.pair = self.open.enter_context(open_pair(made, self.clock, drain_batch=3, lanes=3))
        self.stream = Stream(luck_of(1), self.clock.now(), self.trades)
        self.sent: list[dict[str, Any]] = []

    @initialize(luck=LUCK)
    def begin(self, luck: int) -> None:
        """Begin with units and orders that later reports may be about."""
        self.report(luck, 12)
        self.drain(luck)

    @rule(luck=LUCK, count=st.integers(4, 16))
    def report(self, luck: int, count: int) -> None:
        """Send events of any kind: late, misread, contradicting, putting right."""
        # The same number twice must not give two events the same id.
        self.stream.rnd = luck_of(luck, len(self.sent))
        self.stream.now = self.clock.now()
        made = self.stream.make(self.pair.model, count)
        self.pair.send(made)
        self.sent += made

    @rule(data=st.data())
    def send_again(self, data: st.DataObject) -> None:
        """Send what was sent before, as a phone does that missed the receipt."""
        self.pair.send([data.draw(st.sampled_from(self.sent))])

    @rule(minutes=st.integers(1, 3 * 24 * 60))
    def time_passes(self, minutes: int) -> None:
        """Move the clock."""
        self.clock.move(timedelta(minutes=minutes))

    @rule()
    def round_is_made(self) -> None:
        """Raise what falls due today, once however often it is called."""
        self.pair.make_rounds()

    @rule(luck=LUCK)
    def drain_some_lane(self, luck: int) -> None:
        """Judge one batch of any lane that waits."""
        self.pair.drain_once(luck_of(luck))

    @rule(luck=LUCK)
    def drain(self, luck: int) -> None:
        """Judge all that waits, lanes in any order, and compare."""
        self.pair.drain(luck_of(luck))
        self.pair.assert_equal()

    def teardown(self) -> None:
        """Judge the rest by lane, compare, and close."""
        with self.open:
            while self.pair.drain_once(None):
                pass
            self.pair.assert_alerts()
            self.pair.assert_equal()
            self.pair.assert_sound()


@pytest.mark.parametrize("trades", [False, True], ids=["gate", "by quantity"])
def test_whatever_is_sent_in_whatever_order_equals_the_model(
    template_db: TestServices, worker_number: int, trades: bool
) -> None:
    kept = {"trades": trades, "template_db": template_db, "worker": worker_number}
    machine = type("Machine", (Depot,), kept | {"names": itertools.count(1)})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=EXAMPLES,
            stateful_step_count=STEPS,
            derandomize=True,
            deadline=None,
            database=None,
            # Making a failure as small as it can be takes minutes: add Phase.shrink when one fails.
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
