import io
import json
import logging
import warnings
from uuid import UUID

import pytest

from shared import logs


@pytest.fixture
def written(logs_as_before: None) -> io.StringIO:
    """What the process "test" writes."""
    stream = io.StringIO()
    logs.configure("test", stream=stream)
    return stream


def lines(stream: io.StringIO) -> list[dict[str, object]]:
    return [json.loads(line) for line in stream.getvalue().splitlines()]


def test_log_writes_one_json_line_with_name_level_time_and_process(written: io.StringIO) -> None:
    logs.get("tracker.drain").info("lane.drained", lane=7, recorded=212)
    (line,) = lines(written)
    assert line.pop("timestamp").endswith("Z")
    assert line == {
        "event": "lane.drained",
        "lane": 7,
        "recorded": 212,
        "level": "info",
        "logger": "tracker.drain",
        "process": "test",
    }


def test_log_of_a_library_comes_out_alike(written: io.StringIO) -> None:
    logging.getLogger("celery.worker").warning("lost %s", "it", extra={"tries": 2})
    (line,) = lines(written)
    assert (line["event"], line["level"], line["process"]) == ("lost it", "warning", "test")
    assert (line["logger"], line["tries"]) == ("celery.worker", 2)


@pytest.mark.parametrize("name", ["celery.app.trace", "celery.beat", "celery.worker.strategy"])
def test_every_order_that_went_well_is_not_told_but_what_failed_is(
    written: io.StringIO, name: str
) -> None:
    # A sweep every two seconds would fill a disk with the news that nothing was to be done.
    logging.getLogger(name).info("Task hardstand.sweep succeeded")
    logging.getLogger(name).error("Task hardstand.sweep failed")
    assert [line["event"] for line in lines(written)] == ["Task hardstand.sweep failed"]


def test_warning_of_python_is_a_json_line_too(written: io.StringIO) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("always")
        logs.configure("test", stream=written)
        warnings.warn("do not\nrun as root", UserWarning, stacklevel=1)
    (line,) = lines(written)
    assert "do not\nrun as root" in str(line["event"])
    assert (line["level"], line["logger"]) == ("warning", "py.warnings")


def test_bound_fields_stand_in_every_line_until_cleared(written: io.StringIO) -> None:
    logs.bind(task="hardstand.drain")
    logs.get("a").info("one.done")
    logging.getLogger("b").error("two")
    logs.clear()
    logs.get("a").info("three.done")
    assert [line.get("task") for line in lines(written)] == ["hardstand.drain"] * 2 + [None]


def test_log_below_the_level_is_not_written(written: io.StringIO) -> None:
    logs.get("a").debug("detail.seen")
    logging.getLogger("kombu.connection").info("chatter")
    assert lines(written) == []


def test_log_of_an_exception_carries_its_trace_on_one_line(written: io.StringIO) -> None:
    try:
        raise ValueError("no such box")  # noqa: TRY301 - the trace is what is tested
    except ValueError:
        logs.get("a").exception("event.failed")
    (line,) = lines(written)
    assert "ValueError: no such box" in line["exception"]


def test_log_of_values_json_does_not_know_is_written_as_text(written: io.StringIO) -> None:
    unit = UUID(int=1)
    logs.get("a").info("unit.seen", unit=unit, error=ValueError("x"))
    logs.get("a").info("unit.weighed", unit=unit, big=2**70, broken="\udc80")
    seen, weighed = lines(written)
    assert (seen["unit"], seen["error"]) == (str(unit), "x")
    assert (weighed["unit"], weighed["big"]) == (str(unit), 2**70)


def test_log_of_a_database_error_leaves_out_the_row_it_quotes(written: io.StringIO) -> None:
    said = (
        "null value breaks the rule\nDETAIL:  Failing row contains (7, Ada\nQuill).\n"
        "HINT:  Give one.\n[SQL: INSERT]"
    )
    logs.get("a").error("batch.failed", error=said)
    try:
        raise ValueError(said)  # noqa: TRY301 - the trace is what is tested
    except ValueError:
        logging.getLogger("b").exception("Task failed: %s", said)
    for line in lines(written):
        for told in filter(None, (line.get("error"), line.get("exception"))):
            assert "null value breaks the rule" in told
            assert "HINT:  Give one.\n[SQL: INSERT]" in told
    assert "Ada" not in written.getvalue()
    assert "Quill" not in written.getvalue()
