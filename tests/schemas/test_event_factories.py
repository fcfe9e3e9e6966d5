from uuid import UUID

import orjson
import pytest
from pydantic import ValidationError

from schemas.events.base import Decision, Fact
from schemas.events.union import DECISIONS, EVENT, FACTS, KINDS, RANKS
from tests.support.events import OF_KIND, make_event, make_payload
from tracker.judge.fold import FOLDERS, SETTLING


def test_every_kind_has_a_factory() -> None:
    assert sorted(OF_KIND) == sorted(KINDS)


def test_every_kind_but_order_is_folded_into_a_unit_or_settles() -> None:
    assert set(FOLDERS) | SETTLING | {"order"} == set(KINDS)
    assert not set(FOLDERS) & (SETTLING | {"order"})


@pytest.mark.parametrize("kind", KINDS)
def test_event_of_kind_is_read_as_its_class_and_reads_back_the_same(kind: str) -> None:
    event = make_event(kind)
    assert type(event) is KINDS[kind]
    assert isinstance(event, Fact if kind in FACTS else Decision)
    text = event.model_dump_json(exclude_none=True)
    assert EVENT.validate_json(text) == event
    assert EVENT.validate_json(text).model_dump_json(exclude_none=True) == text


@pytest.mark.parametrize("kind", KINDS)
def test_unknown_field_is_refused_by_name(kind: str) -> None:
    with pytest.raises(ValidationError) as fault:
        make_event(kind, colour_of_the_sky="grey")
    assert [error["loc"][-1] for error in fault.value.errors()] == ["colour_of_the_sky"]


@pytest.mark.parametrize(
    "kind", sorted(set(FOLDERS) - {"release", "passing-on", "payment", "cancellation"})
)
def test_event_without_mark_or_tag_names_no_unit(kind: str) -> None:
    with pytest.raises(ValidationError, match="names no unit"):
        make_event(kind, mark=None)
    assert make_event(kind, mark=None, tag="17").tag == "17"


def test_passing_on_names_its_reference_and_no_unit() -> None:
    assert make_event("passing-on").mark is None
    for named in ({"mark": "ZZZU0000010"}, {"tag": "17"}):
        with pytest.raises(ValidationError, match="the reference says what is passed on"):
            make_event("passing-on", **named)


def test_release_names_a_unit_or_an_order() -> None:
    with pytest.raises(ValidationError, match="releases nothing"):
        make_event("release", mark=None)
    order = str(UUID(int=7))
    assert str(make_event("release", mark=None, order=order, count=6).order) == order
    assert make_event("release", mark=None, tag="17").tag == "17"


@pytest.mark.parametrize("kind", ["cancellation", "payment"])
def test_what_may_be_about_an_order_needs_no_unit(kind: str) -> None:
    assert make_event(kind, mark=None).mark is None


@pytest.mark.parametrize("named", [{"mark": "ZZZU0000015"}, {"tag": "17"}])
def test_order_is_for_any_unit_and_names_none(named: dict[str, str]) -> None:
    assert make_event("order").mark is None
    with pytest.raises(ValidationError, match="leave mark and tag out"):
        make_event("order", **named)


@pytest.mark.parametrize("kind", sorted(SETTLING))
def test_settling_event_needs_no_mark(kind: str) -> None:
    assert make_event(kind).mark is None


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "happened_at",
    [
        "2026-03-02T08:00:00",
        "yesterday",
        1772000000,
        None,
        "0001-01-01T00:00:00+05:00",
        "1949-12-31T23:59:59Z",
        "9999-12-31T23:59:59-05:00",
    ],
)
def test_moment_without_zone_or_out_of_reason_is_refused(kind: str, happened_at: object) -> None:
    with pytest.raises(ValidationError):
        make_event(kind, happened_at=happened_at)


def test_unknown_kind_is_refused() -> None:
    body = orjson.dumps(make_payload("sighting") | {"kind": "teleport"})
    with pytest.raises(ValidationError, match="teleport"):
        EVENT.validate_json(body)


def test_facts_rank_before_decisions_and_no_two_kinds_share_a_rank() -> None:
    assert sorted(RANKS.values()) == list(range(len(KINDS)))
    assert max(RANKS[kind] for kind in FACTS) < min(RANKS[kind] for kind in DECISIONS)


@pytest.mark.parametrize(
    ("kind", "changes"),
    [
        ("gate-in", {"masses": {"gross_kg": "30480"}}),
        ("gate-in", {"masses": {"gross_kg": 30480.5}}),
        ("gate-in", {"masses": {"gross_kg": -1}}),
        ("gate-in", {"plate": {"next_examination": "2029-13"}}),
        ("gate-in", {"plate": {"next_examination": "2029-12-01"}}),
        ("gate-in", {"depot": "north"}),
        ("gate-in", {"mark": ""}),
        ("gate-in", {"mark": "A\x00"}),
        ("gate-in", {"photos": ["ff"]}),
        ("gate-in", {"photos": ["0" * 64] * 61}),
        ("work-order", {"lines": []}),
        ("modification", {"fittings": [{"work": "Lock Box"}]}),
        ("order", {"count": 0}),
        ("order", {"count": 1000}),
        ("order", {"description": {"length_ft": 21}}),
        ("order", {"description": {"length_ft": 20, "types": []}}),
        ("order", {"description": {"length_ft": 20, "conditions": ["splendid"]}}),
        ("release", {"count": 0}),
        ("sale", {"price": "-1.00"}),
        ("sale", {"currency": "euro"}),
        ("sale", {"price": "1.00", "tax_rate_percent": "100.5"}),
        ("sale", {"price": "1.00", "tax_rate_percent": "-1"}),
        ("sale", {"price": "1.00", "tax_rate_percent": "NaN"}),
        ("sale", {"price": "1.00", "tax_rate_percent": "20", "untaxed_because": "export"}),
        ("sale", {"price": "1.00", "lines": []}),
        ("sale", {"lines": [{"what": "lock-box", "price_each": "55.00"}]}),
        ("sale", {"price": "1.00", "lines": [{"what": "lock-box", "price_each": "0.0001"}]}),
        ("order", {"tax_rate_percent": "20", "untaxed_because": "export"}),
        ("claim-closed", {"outcome": "paid"}),
        ("claim-closed", {"outcome": "paid", "amount": "120.00"}),
        ("claim-closed", {"outcome": "paid", "currency": "EUR"}),
        ("claim-closed", {"outcome": "refused", "amount": "120.00", "currency": "EUR"}),
        ("claim-closed", {"outcome": "withdrawn", "currency": "EUR"}),
        ("gate-in", {"outside_looked_at": "perhaps"}),
        ("reservation", {"until": "2026-04-01T12:00:00"}),
    ],
)
def test_value_out_of_shape_is_refused(kind: str, changes: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        make_event(kind, **changes)
