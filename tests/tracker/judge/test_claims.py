"""The family `claim`: every claim has a last day, notice ends its alert, a decision ends it."""

from datetime import date, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from schemas.findings import Severity
from schemas.records import Claim, Record
from shared.plates import MonthReading
from tests.support.events import START, UNIT, make_entry, make_event, make_record
from tests.support.model import Model
from tracker.judge import due
from tracker.judge.decisions import judge_decision
from tracker.judge.entry import moment_text
from tracker.judge.facts import judge_fact
from tracker.judge.fold import fold
from tracker.judge.judgement import Judgement, Rulebook

NOW = moment_text(START)
SOON = timedelta(hours=20)
LATER = timedelta(days=30)
OPEN = Claim("c/1", "a hole", NOW, "Vale Lines", "2026-03-05")
OTHER = Claim("c/2", "a dent", NOW, None, "2026-03-04")


def judged(
    kind: str, record: Record | None = None, *, after: timedelta = SOON, **changes: object
) -> Judgement:
    known = record or make_record()
    rules = Rulebook(zones={"NORTH": ZoneInfo("Pacific/Auckland")})
    return judge_fact(make_event(kind, **changes), known, START + after, rules)  # type: ignore[arg-type] # facts only


def told(judgement: Judgement, family: str) -> dict[str, str]:
    return {one.id: one.message for one in judgement.findings if one.id.startswith(family)}


def owed(record: Record) -> list[tuple[str, date]]:
    found = due.owed(record, MonthReading.STRICT)
    return [(one.cause, one.due_on) for one in found if one.kind == due.CLAIM_NOTICE]


def test_damage_seen_at_the_gate_gets_a_last_day_by_the_depots_own_calendar() -> None:
    late = (START + timedelta(hours=14)).isoformat()
    judgement = judged("gate-in", happened_at=late, damage_on_lorry="roof torn")
    assert judgement.resolved["notice_by"] == ["2026-03-06"]
    said = told(judgement, "damage")["damage.claim-incomplete"]
    assert "names no firm" in said
    assert "2026-03-06 was set" in said


def test_damage_seen_at_the_gate_against_a_haulier_lacks_only_its_day() -> None:
    judgement = judged("gate-in", damage_on_lorry="roof torn", haulier="Vale Lines")
    assert "names no firm" not in told(judgement, "damage")["damage.claim-incomplete"]
    assert told(judged("gate-in", haulier="Vale Lines"), "damage") == {}


def test_day_that_was_set_stands_in_the_claim_and_falls_due() -> None:
    arrival = make_entry(
        "gate-in", damage_on_lorry="roof torn", resolved={"notice_by": ["2026-03-09"]}
    )
    assert owed(fold(UNIT, [arrival])) == [(arrival.event_id, date(2026, 3, 9))]


def test_claims_of_a_history_from_before_days_were_set_are_not_forgotten() -> None:
    arrival = make_entry("gate-in", damage_on_lorry="roof torn")
    found = make_entry(
        "inspection",
        at=60,
        damages=[{"component": "floor", "kind": "cut", "on_lorry": True}],
    )
    assert [day for _, day in owed(fold(UNIT, [arrival, found]))] == [date(2026, 3, 5)] * 2


@pytest.mark.parametrize(("named", "left"), [([], []), (["/1"], ["/2"]), (["/9"], ["/1", "/2"])])
def test_notice_ends_what_falls_due_of_the_claims_named_or_of_all(
    named: list[str], left: list[str]
) -> None:
    damages = [{"component": "floor", "kind": kind, "on_lorry": True} for kind in ("cut", "worn")]
    found = make_entry("inspection", at=1, damages=damages)
    notice = make_entry(
        "claim-notice",
        at=2,
        to="Vale Lines",
        claims=[found.event_id + one for one in named],
        resolved={"given_on": "2026-03-03"},
    )
    record = fold(UNIT, [make_entry("gate-in"), found, notice])
    assert [cause for cause, _ in owed(record)] == [found.event_id + one for one in left]
    for claim in record.claims:
        waits = claim.id.removeprefix(found.event_id) in left
        expected = (None, None) if waits else ("2026-03-03", "Vale Lines")
        assert (claim.notice_given_on, claim.responsible) == expected


def test_day_named_in_the_notice_counts_and_not_the_day_it_was_told() -> None:
    judgement = judged("claim-notice", make_record(claims=[OPEN]), given_on="2026-03-01")
    assert judgement.resolved["given_on"] == "2026-03-01"
    assert judgement.findings == []


def test_notice_that_comes_late_or_of_no_claim_is_kept_and_told() -> None:
    record = make_record(claims=[OPEN, OTHER])
    late = judged("claim-notice", record, after=LATER, given_on="2026-03-05")
    assert told(late, "claim") == {
        "claim.notice-late": "Notice of a dent was given on 2026-03-05; it was to be given by "
        "2026-03-04."
    }
    unknown = told(judged("claim-notice", record, claims=["c/9"]), "claim")
    assert list(unknown) == ["claim.unknown"]
    assert "c/9" in unknown["claim.unknown"]
    assert list(told(judged("claim-notice"), "claim")) == ["claim.unknown"]


def test_second_notice_is_not_called_late() -> None:
    claim = Claim("c/1", "a hole", NOW, "Vale Lines", "2026-03-05", "2026-03-04")
    record = make_record(claims=[claim])
    assert judged("claim-notice", record, after=LATER, given_on="2026-03-20").findings == []


def test_notice_after_the_box_was_scrapped_asks_nothing() -> None:
    model = Model()
    model.tell("gate-in", damage_on_lorry="torn in half", haulier="Vale Lines")
    model.tell("disposal", at=10)
    (unit,) = model.histories
    assert owed(model.record(unit)) != []
    model.tell("claim-notice", at=20)
    record = model.record(unit)
    assert (record.questions, owed(record)) == ([], [])


def closing(record: Record, **changes: object) -> list[tuple[str, Severity]]:
    event = make_event("claim-closed", **changes)
    judgement = judge_decision(event, record, START, Rulebook())  # type: ignore[arg-type] # a decision
    return [(one.id, one.severity) for one in judgement.findings]


def test_claim_is_closed_by_its_id_while_it_stands() -> None:
    record = make_record(claims=[OPEN])
    assert closing(record, closes="c/1") == []
    assert closing(record, closes="c/2") == [("decision.no-such-claim", Severity.REFUSE)]
    assert closing(record, closes="c/1", outcome="refused") == [
        ("claim.closed-without-notice", Severity.WARN)
    ]


def test_closed_claim_owes_nothing_and_its_withdrawal_opens_it_again() -> None:
    model, came, ended = Model(), str(UUID(int=0xC1)), str(UUID(int=0xC2))
    model.tell("gate-in", id=came, damage_on_lorry="roof torn", haulier="Vale Lines")
    (unit,) = model.histories
    amount = {"outcome": "paid", "amount": "180.00", "currency": "EUR"}
    closed = model.tell("claim-closed", id=ended, at=5, closes=came, **amount)
    assert (closed.outcome, model.record(unit).claims) == ("recorded", [])
    assert model.tell("claim-closed", at=6, closes=came, **amount).outcome == "refused"
    model.tell("correction", at=7, received=700, corrects=ended, withdrawn=True)
    assert [one.id for one in model.record(unit).claims] == [came]


def test_amount_is_kept_to_the_cent_as_it_was_written() -> None:
    event = make_event("claim-closed", outcome="paid", amount="180.10", currency="EUR")
    assert '"amount":"180.10"' in event.model_dump_json()


def test_notice_on_a_day_that_has_not_come_is_doubted_and_the_day_of_the_report_counts() -> None:
    # Twenty hours after the start it is 3 March 2026 at the depot, and 2 March where UTC counts.
    record = make_record(claims=[Claim("c/1", "a hole", NOW, "Vale Lines", "2026-03-01")])
    on_time = judged("claim-notice", record, given_on="2026-03-03")
    assert "claim.notice-not-come-yet" not in told(on_time, "claim")
    judgement = judged("claim-notice", record, given_on="2026-03-04")
    says = told(judgement, "claim")["claim.notice-not-come-yet"]
    assert "given on 2026-03-04, but today is 2026-03-03" in says
    assert judgement.doubted == ["given_on"]
    day = judgement.resolved["given_on"]
    assert day < "2026-03-04"
    assert day in told(judgement, "claim")["claim.notice-late"], "late by the day that counts"
    notice = make_entry(
        "claim-notice", given_on="2026-03-04", doubted=["given_on"], resolved={"given_on": day}
    )
    arrival = make_entry("gate-in", damage_on_lorry="roof torn")
    (claim,) = fold(UNIT, [arrival, notice]).claims
    assert claim.notice_given_on == day
