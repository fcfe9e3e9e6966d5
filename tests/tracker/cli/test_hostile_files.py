"""Files of events that a spreadsheet never wrote."""

from __future__ import annotations

import orjson
import pytest
import typer

from tracker.cli import event_files, moments


def test_event_nested_deeper_than_json_can_be_written_is_named_as_faulty() -> None:
    deep = b'{"a":' * 300 + b"1" + b"}" * 300
    good = b'{"id":"1","kind":"gate-in"}'
    first, second = event_files.read_events(deep + b"\n" + good)
    assert (first.body, first.fault) == (deep, "it is nested deeper than any event")
    assert (second.body, second.fault) == (good, None)


def test_cell_of_any_length_does_not_end_the_file() -> None:
    content = b"kind,note\ngate-in," + b"A" * 200_000 + b"\nsale,B\n"
    lines = list(event_files.read_events(content))
    assert [orjson.loads(line.body)["kind"] for line in lines] == ["gate-in", "sale"]


def test_heading_that_is_no_utf8_is_a_field_that_nobody_knows() -> None:
    (line,) = event_files.read_events(b"kind,\xff\ngate-in,1\n")
    assert orjson.loads(line.body)["?"] == "1"


@pytest.mark.parametrize("text", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
def test_moment_that_no_other_zone_can_tell_is_wrong_usage(text: str) -> None:
    with pytest.raises(typer.BadParameter, match="does not lie in 1950 to 2199"):
        moments.read_moment(text)
