"""The published shape of an event says what its reader asks, so that a program can go by it."""

from __future__ import annotations

from typing import Any

import jsonschema_rs
import orjson
import pytest
from pydantic import ValidationError

from schemas.events.union import EVENT, KINDS
from shared.months import Month, MonthError
from tests.support.events import PLATE, make_payload

PUBLISHED = jsonschema_rs.validator_for(EVENT.json_schema())


def read(payload: dict[str, Any]) -> bool:
    try:
        EVENT.validate_json(orjson.dumps(payload))
    except ValidationError:
        return False
    return True


@pytest.mark.parametrize("kind", KINDS)
def test_event_of_every_kind_has_the_published_shape(kind: str) -> None:
    assert PUBLISHED.is_valid(make_payload(kind))
    nameless = make_payload(kind, mark=None)
    assert PUBLISHED.is_valid(nameless) is not KINDS[kind].names_unit
    if not PUBLISHED.is_valid(nameless):
        assert not read(nameless)


SAID: dict[str, tuple[dict[str, Any], bool]] = {
    "slot in small letters": ({"slot": "a1-2"}, True),
    "slot of signs": ({"slot": "!"}, False),
    "slot without end": ({"slot": "A" * 25}, False),
    "moment long ago": ({"happened_at": "1949-12-31T23:00:00Z"}, False),
    "first moment": ({"happened_at": "1950-01-01T00:00:00Z"}, True),
    "last moment": ({"happened_at": "2199-12-31T23:59:59Z"}, True),
    "moment far off": ({"happened_at": "2200-01-01T00:00:00Z"}, False),
    "month of a plate": ({"plate": PLATE | {"manufactured_in": "2999-12"}}, True),
    "month of no plate": ({"plate": PLATE | {"manufactured_in": "0007-03"}}, False),
    "month beyond": ({"plate": PLATE | {"manufactured_in": "3000-01"}}, False),
    "cube as text": ({"masses": {"cube_m3": "33.2"}}, True),
    "cube as number": ({"masses": {"cube_m3": 33.2}}, True),
    "cube in words": ({"masses": {"cube_m3": "many"}}, False),
    "cube of a house": ({"masses": {"cube_m3": 1000}}, False),
}


@pytest.mark.parametrize(("said", "is_right"), SAID.values(), ids=SAID)
def test_shape_and_reader_say_the_same(said: dict[str, Any], is_right: bool) -> None:
    payload = make_payload("gate-in", **said)
    assert (PUBLISHED.is_valid(payload), read(payload)) == (is_right, is_right)


@pytest.mark.parametrize(
    ("price", "is_right"),
    [("1900.00", True), ("0", True), (1900, True), ("1e3", False), ("9" * 10, False), ("", False)],
)
def test_price_is_published_as_the_number_or_text_it_is_written_as(
    price: object, is_right: bool
) -> None:
    payload = make_payload("sale", price=price)
    assert PUBLISHED.is_valid(payload) is is_right
    # What the shape lets through is read; that the reader takes more is no promise.
    assert read(payload) or not is_right


def test_month_that_is_none_is_told_as_it_was_written() -> None:
    with pytest.raises(MonthError, match="'0007-03' is no month"):
        Month.parse("0007-03")
