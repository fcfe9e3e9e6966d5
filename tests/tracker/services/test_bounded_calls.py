import threading
from contextvars import ContextVar

import pytest

from tracker.services.bounded_calls import BoundedCalls, CallOutOfTimeError

NAMED: ContextVar[str] = ContextVar("named", default="")


def test_call_gives_what_it_returns_or_raises_and_knows_its_context() -> None:
    calls = BoundedCalls(1, 5)
    NAMED.set("a request")
    assert calls.run(NAMED.get) == "a request"
    for fault in (KeyError("own"), TimeoutError("own")):

        def fail(fault: Exception = fault) -> None:
            raise fault

        with pytest.raises(type(fault), match="own"):
            calls.run(fail)
    assert calls.run(lambda: 7) == 7


def test_call_that_hangs_is_given_up_and_keeps_its_place_until_it_is_back() -> None:
    calls, go_on, back = BoundedCalls(1, 0.05), threading.Event(), threading.Event()

    def hang() -> None:
        go_on.wait()
        back.set()

    with pytest.raises(CallOutOfTimeError):
        calls.run(hang)
    with pytest.raises(CallOutOfTimeError):
        calls.run(lambda: pytest.fail("there is no room for it"))
    go_on.set()
    assert back.wait(10)
    for thread in threading.enumerate():
        if thread.name == "bounded-call":
            thread.join()
    calls.patience_s = 5
    assert calls.run(lambda: 7) == 7
