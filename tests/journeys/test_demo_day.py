"""The demo day, worked through over a real database: each told incident comes to what is told.

The workers' part is played by draining in this process; the queue has tests of its own.
"""

from __future__ import annotations

import io
from collections import Counter
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from email import message_from_bytes, policy
from random import Random
from typing import TYPE_CHECKING, Any

import orjson
import pytest
from rich.console import Console
from typer.core import TyperGroup
from typer.main import get_command

from deploy.demo import day, house, sign_ins
from deploy.demo.cast import make_cast, soon_due
from deploy.demo.day import Today
from deploy.demo.hand_in import feed_past
from deploy.demo.next_steps import list_next_steps
from deploy.demo.reports import Pen
from deploy.demo.scenario import HouseInUseError, Scenario, make_scenario
from deploy.demo.tell import Teller
from deploy.demo.today import misread
from deploy.demo.trade_cast import MISSED_SLOT, NEW_BATCH, SEEN_SLOT
from deploy.hardstand import make_hardstand
from shared import marks
from shared.clock import StandingClock
from shared.plates import MonthReading, last_valid_day
from tests.support import depot as depots
from tests.support import services as support
from tests.support.depot import Depot, report
from tests.support.marks import make_mark
from tracker.services import stock_check
from tracker.services.actor import Role
from tracker.services.deliveries import show_delivery
from tracker.services.drain_all import drain_all
from tracker.services.orders_view import show_order
from tracker.services.photos import open_photo
from tracker.services.plate_packs import pack_of
from tracker.services.rebuild import rebuild
from tracker.services.sight import Sight
from tracker.services.sign_in import sign_in
from tracker.web.pages.navigation import PLACES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from schemas.verdicts import Verdict
    from tests.support.services import TestServices

MORNING = datetime(2026, 3, 2, 8, 14, 31, tzinfo=UTC)
BROKEN_OFF_AFTER = 30


@dataclass(frozen=True, slots=True)
class Worked:
    """A demo day that was worked through, and the words it was told in."""

    depot: Depot
    clock: StandingClock
    told: Scenario
    today: Today
    words: str

    def comes_to(self, title: str) -> list[tuple[str, str, set[str]]]:
        """Return kind, verdict and weighty findings of what was handed in under a title."""
        (found,) = (one for one in self.today.incidents if one.title == title)
        verdicts = [(written.kind, self.today.verdicts[written.id]) for written in found.reports]
        return [(kind, one.verdict.value, weighty(one)) for kind, one in verdicts]

    def questions_of(self, mark: str) -> list[str]:
        """Return what is asked about the unit a mark means."""
        return [asked["finding"] for asked in self.depot.show(mark).record["questions"]]


def weighty(verdict: Verdict) -> set[str]:
    kinds = ("refuse", "breach", "doubt")
    return {one.id for one in verdict.findings if one.severity.value in kinds}


def work_through(depot: Depot, clock: StandingClock) -> Worked:
    words = io.StringIO()
    teller = Teller(Console(file=words, width=200, markup=False, highlight=False))
    told = day.prepare(depot.web, depot.worker, teller)
    today = day.live(depot.web, depot.worker, told, teller, lambda: pass_a_second(depot, clock))
    day.tell(teller, depot.web, today, sign_ins.make_sign_ins(depot.web))
    return Worked(depot, clock, told, today, words.getvalue())


def pass_a_second(depot: Depot, clock: StandingClock) -> None:
    """Judge what waits; a mail is due a moment after the breach that it tells."""
    drain_all(depot.worker)
    clock.move(timedelta(seconds=1))


@pytest.fixture(scope="module")
def worked(
    template_db: TestServices, worker_number: int, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Worked]:
    """The day after a first run was broken off half an hour before."""
    home: Path = tmp_path_factory.mktemp("demo")
    clock = StandingClock(MORNING)
    name = f"test_{template_db.run}_{worker_number}_demo"
    with support.copy_template(template_db, name) as databases:
        settings = support.make_settings(databases, redis_url=template_db.redis_url, home=home)
        with depots.open_up(settings, clock) as depot:
            house.set_up(depot.web)
            begun = make_scenario(depot.web).lots[:BROKEN_OFF_AFTER]
            feed_past(depot.web, depot.worker, begun, lambda _more: None)
            clock.move(timedelta(minutes=30))
            yield work_through(depot, clock)


def test_day_that_was_broken_off_goes_on_where_it_stopped(worked: Worked) -> None:
    assert worked.told.moment == MORNING.replace(second=0)
    written = [one.id for lot in worked.told.lots for one in lot]
    written += [one.id for incident in worked.today.incidents for one in incident.reports]
    assert len(set(written)) == len(written) > 2500
    receipts = "SELECT count(*) FROM receipts WHERE event_id = ANY(:written)"
    assert worked.depot.rows(receipts, written=written)[0]["count"] == len(written)
    assert worked.depot.one("SELECT count(*) FROM intake") == 0


def test_nothing_is_left_to_find_out_from_the_customs(worked: Worked) -> None:
    warned = worked.depot.rows(
        "SELECT event_id FROM receipts, json_array_elements(findings) AS finding"
        " WHERE finding->>'id' = 'release.customs-unknown'"
    )
    assert warned == []


def test_year_leaves_a_few_hundred_units_and_no_doubt(worked: Worked) -> None:
    todays = [one.id for incident in worked.today.incidents for one in incident.reports]
    found = worked.depot.rows(
        "SELECT event_id, finding->>'id' AS finding FROM receipts,"
        " json_array_elements(findings) AS finding WHERE event_id <> ALL(:todays)"
        " AND finding->>'severity' IN ('refuse', 'breach', 'doubt')",
        todays=todays,
    )
    assert found == []
    stock = {
        (row["presence"], row["depot"]): row["units"]
        for row in worked.depot.rows(
            "SELECT presence, depot, count(*) AS units FROM records"
            " WHERE mark IS NOT NULL GROUP BY presence, depot"
        )
    }
    assert sum(stock.values()) > 300
    assert min(stock["in-depot", "TARN"], stock["in-depot", "QUAY"]) > 50


def test_boxes_sold_abroad_left_with_the_photo_of_their_plate(worked: Worked) -> None:
    abroad = worked.depot.rows(
        "SELECT body->'plate'->>'photo' AS photo, digest FROM records"
        " LEFT JOIN photos ON encode(digest, 'hex') = body->'plate'->>'photo'"
        " WHERE body->'sale'->>'intended_use' = 'export' AND presence = 'away'"
    )
    assert len(abroad) > 10
    assert [row for row in abroad if row["digest"] is None] == []
    assert open_photo(worked.depot.web, abroad[0]["photo"]).media_type == "image/png"


def test_year_was_recorded_when_it_happened(worked: Worked) -> None:
    late = worked.depot.one(
        "SELECT max(extract(epoch FROM recorded_at - effective_at)) FROM history"
        " WHERE recorded_at < '2026-03-02'"
    )
    assert late < 24 * 3600
    first = worked.depot.one("SELECT min(recorded_at) FROM history")
    assert first < MORNING - timedelta(days=360)


def test_misread_number_comes_home_by_one_answer(worked: Worked) -> None:
    box = worked.told.cast.misread
    assert worked.comes_to("A misread number") == [
        ("gate-in", "recorded", {"mark.check-digit"}),
        ("inspection", "recorded", set()),
        ("answer", "recorded", set()),
    ]
    home = worked.depot.show(box.mark)
    assert [row["kind"] for row in home.history].count("gate-in") == 1
    assert home.record["presence"] == "in-depot"
    assert home.record["condition"] == "cargo-worthy"
    assert home.record["tare_kg"] == box.tare_kg
    assert worked.depot.show(misread(box.mark)).unit_id == home.unit_id


def test_number_left_for_the_visitor_is_in_question(worked: Worked) -> None:
    box = worked.told.cast.still_misread
    unit = worked.depot.show(misread(box.mark)).record
    assert unit["mark_state"] == "in-question"
    (asked,) = unit["questions"]
    (incident,) = (one for one in worked.today.incidents if one.title == "Another, left for you")
    assert f"answer {asked['id'][:8]} " in incident.look[1]
    assert box.mark in incident.look[1]
    assert worked.depot.show(box.mark).record["presence"] == "expected"


def test_second_gate_in_asks_for_the_departure(worked: Worked) -> None:
    box = worked.told.cast.twice_in
    assert worked.comes_to("A second gate-in") == [
        ("gate-in", "recorded", {"presence.missed-departure"})
    ]
    assert worked.questions_of(box.mark) == ["presence.missed-departure"]
    assert worked.depot.show(box.mark).record["depot"] == "QUAY"


def test_masses_that_do_not_add_up_are_not_adopted(worked: Worked) -> None:
    box = worked.told.cast.weighed_wrong
    assert worked.comes_to("Weights that do not add up") == [("gate-in", "recorded", {"mass.sum"})]
    record = worked.depot.show(box.mark).record
    assert worked.questions_of(box.mark) == ["mass.sum"]
    assert (record["gross_kg"], record["tare_kg"], record["payload_kg"]) == (None, None, None)
    assert record["presence"] == "in-depot"


def test_late_event_takes_its_place_and_the_question_goes(worked: Worked) -> None:
    box = worked.told.cast.late
    assert worked.comes_to("A late event from an offline phone") == [
        ("sighting", "recorded", {"presence.seen-but-not-in"}),
        ("gate-in", "recorded", set()),
    ]
    unit = worked.depot.show(box.mark)
    assert unit.record["questions"] == []
    assert (unit.record["depot"], unit.record["slot"]) == ("QUAY", "D2-2")
    kinds = [row["kind"] for row in sorted(unit.history, key=lambda row: row["effective_at"])]
    assert kinds[-2:] == ["gate-in", "sighting"]


def test_correction_puts_the_grade_right(worked: Worked) -> None:
    box = worked.told.cast.corrected
    assert worked.comes_to("A correction") == [("correction", "recorded", set())]
    unit = worked.depot.show(box.mark)
    assert unit.record["condition"] == "cargo-worthy"
    (graded,) = (row for row in unit.history if row["kind"] == "inspection")
    assert graded["event"]["condition"] == "as-is"


def test_second_sale_is_refused(worked: Worked) -> None:
    box = worked.told.cast.sold_twice
    assert worked.comes_to("A double sale") == [
        ("sale", "recorded", set()),
        ("sale", "refused", {"sale.already-sold"}),
    ]
    assert worked.depot.show(box.mark).record["sale"]["buyer"] == house.BUYERS[0]


def test_box_that_left_without_release_is_a_breach_told_to_the_manager(worked: Worked) -> None:
    box = worked.told.cast.unreleased
    assert worked.comes_to("A box that left without release") == [
        ("gate-out", "recorded", {"release.left-without-release"})
    ]
    unit = worked.depot.show(box.mark).record
    assert (unit["presence"], len(unit["breaches"])) == ("away", 1)
    breaches = [mail for mail in mails(worked) if box.mark in mail["Subject"]]
    assert [mail["To"] for mail in breaches] == ["manager@demo.invalid"]


def test_what_was_to_fall_due_does(worked: Worked) -> None:
    cast = worked.told.cast
    everything = [(one["kind"], one["mark"]) for one in worked.today.due]
    told = [one for one in everything if one[0] not in ("long-stay", "not-collected")]
    assert sorted(told) == sorted(
        [
            ("repair-overdue", cast.to_mend.mark),
            ("breach", cast.unreleased.mark),
            ("reservation-expiring", cast.trade.kept.mark),
            ("not-seen", cast.trade.not_found.mark),
            *(("examination-due", box.mark) for box in cast.to_examine),
        ]
    )
    assert len({box.mark for box in cast.to_examine}) == 3


def test_batch_comes_one_short_and_one_unexpected(worked: Worked) -> None:
    trade = worked.told.cast.trade
    assert worked.comes_to("A batch, one short and one unexpected") == (
        [("gate-in", "recorded", set())] * 4
    )
    found = show_delivery(worked.depot.web, Sight(None), NEW_BATCH)
    assert found["counts"] == {
        "advised": 4, "arrived": 3, "missing": 1, "unexpected": 1, "differing": 0,
    }  # fmt: skip
    states = {unit["mark"]: unit["state"] for unit in found["units"]}
    assert (states[trade.short.mark], states[trade.stranger.mark]) == ("missing", "unexpected")


def test_inspection_airs_first_and_claims_what_was_on_the_lorry(worked: Worked) -> None:
    assert worked.comes_to("An inspection, the air first") == [("inspection", "recorded", set())]
    record = worked.depot.show(worked.told.cast.trade.arriving[0].mark).record
    assert (record["air"], record["breaches"], record["placards"]) == ("tested", [], None)
    history = worked.depot.show(worked.told.cast.trade.arriving[0].mark).history
    (arrival,) = (row["event"] for row in history if row["kind"] == "gate-in")
    assert (arrival["placards"], arrival["outside_looked_at"]) == ("a fumigation label", "yes")
    (claim,) = record["claims"]
    assert (claim["responsible"], claim["notice_given_on"]) == (house.HAULIERS[2], None)
    assert claim["notice_by"] is not None


def test_work_from_the_catalogue_leaves_the_tare_to_paint(worked: Worked) -> None:
    box = worked.told.cast.trade.fitted
    assert worked.comes_to("Work that changes the tare") == [("modification", "recorded", set())]
    record = worked.depot.show(box.mark).record
    assert record["fittings"] == {"lock-box": 1, "louvre-vent": 4}
    assert (record["tare_kg"], record["repaint"]) == (box.tare_kg + 17, ["masses"])
    assert (record["orders"], record["approval"]) == ([], "ask")


def test_order_by_quantity_is_collected_in_part_and_a_manager_lets_another_haulier(
    worked: Worked,
) -> None:
    trade = worked.told.cast.trade
    assert worked.comes_to("Six of a kind, and another haulier") == [
        ("clearance", "refused", {"clearance.wrong-haulier"}),
        ("clearance", "recorded", set()),
    ]
    (let_pass,) = (
        row
        for row in worked.depot.show(trade.next_on_order.mark).history
        if row["kind"] == "clearance"
    )
    assert let_pass["event"]["reported_by"] == house.MANAGER
    assert "lorry broke down" in let_pass["event"]["override_reason"]
    order = show_order(worked.depot.web, Sight(None), trade.order).order
    assert [(note["used"], note["count"]) for note in order["collection"]] == [(3, 4)]
    assert (order["count"], order["outstanding"]) == (6, 3)
    for box in trade.collected:
        record = worked.depot.show(box.mark).record
        assert (record["presence"], record["breaches"]) == ("away", [])


def test_export_waits_for_its_plate_pack(worked: Worked) -> None:
    trade = worked.told.cast.trade
    assert worked.comes_to("An export that waits for its plate") == [
        ("release", "refused", {"release.plate-pack-incomplete"}),
        ("inspection", "recorded", set()),
        ("release", "recorded", set()),
    ]
    unit = worked.depot.show(trade.exported.mark)
    assert unit.record["release"]["reference"]
    assert pack_of(worked.depot.web, unit).missing == ()


def test_box_taken_back_is_to_be_mended_and_its_damage_claimed(worked: Worked) -> None:
    assert worked.comes_to("A box taken back, with damage") == [
        ("gate-in", "recorded", set()),
        ("inspection", "recorded", set()),
        ("claim-closed", "recorded", set()),
    ]
    record = worked.depot.show(worked.told.cast.trade.taken_back.mark).record
    assert [one["says"] for one in record["claims"]] == ["dented on door-panel"]
    assert (record["presence"], record["sale"]) == ("in-depot", None)
    assert [one["urgency"] for one in record["damages"]] == ["before-release"]
    assert {one["responsible"] for one in record["claims"]} == {house.HAULIERS[2]}


def test_stock_check_misses_one_and_finds_one_in_the_wrong_slot(worked: Worked) -> None:
    trade, walk = worked.told.cast.trade, worked.told.walk
    found = stock_check.compare(worked.depot.web, walk.id)
    # One that was seen came in elsewhere today: the second gate-in.
    assert found.seen == len(walk.reports) - 1 > 50
    assert [one.mark for one in found.not_found] == [trade.not_found.mark]
    (misplaced,) = found.in_wrong_slot
    assert (misplaced.mark, misplaced.slot) == (trade.misplaced.mark, SEEN_SLOT)
    assert misplaced.slot_before == MISSED_SLOT
    assert found.found_without_arrival == ()
    assert f"not found {trade.not_found.mark}" in worked.words


def test_alert_about_the_missing_box_is_put_off_with_a_reason(worked: Worked) -> None:
    (alert,) = (one for one in worked.today.due if one["kind"] == "not-seen")
    assert (alert["answered_by"], alert["put_off_until"]) == (house.TARN.gate, date(2026, 3, 5))
    assert "two deep" in alert["reason"]
    assert f"put off until 2026-03-05: {alert['reason']}" in worked.words


def test_each_of_the_four_is_told_what_to_do_next_and_where(worked: Worked) -> None:
    people = {one.shown_as: one for one in sign_ins.make_sign_ins(worked.depot.web)}
    steps = worked.today.next_steps
    assert {step.who.partition(",")[0] for step in steps} == people.keys()
    for step in steps:
        assert step.says in worked.words
        assert step.path in worked.words
        role = Role(people[step.who.partition(",")[0]].name)
        (desk,) = (one for one in PLACES if one.is_at(step.path.partition("?")[0]))
        assert role in desk.roles
    told = {step.path.partition("?")[0] for step in steps}
    assert told >= {"/gate", "/gate/departure", "/workshop/unit", "/sales/deal", "/orders"}
    assert told >= {"/questions", "/alerts", "/claims"}


def test_what_is_done_is_no_next_step(worked: Worked) -> None:
    cast = worked.told.cast
    done = replace(cast, trade=replace(cast.trade, fitted=cast.corrected, short=cast.misread))
    before, after = (
        {step.path for step in list_next_steps(worked.depot.web, one)} for one in (cast, done)
    )
    assert before - after == {f"/workshop/unit?name={cast.trade.fitted.mark}", "/gate"}


def test_mails_lie_in_the_folder_that_is_told(worked: Worked) -> None:
    assert worked.today.mails == {"sent": 10}
    assert Counter(mail["To"] for mail in mails(worked)) == {
        "manager@demo.invalid": 5,
        "sales@demo.invalid": 2,
        "workshop.tarn@demo.invalid": 1,
        "gate.tarn@demo.invalid": 1,
        "gate.quay@demo.invalid": 1,
    }
    assert str(worked.depot.web.settings.home / "mail") in worked.words
    ended = "SELECT count(*) FROM alerts WHERE kind = 'reservation-expiring' AND due_on < :today"
    assert worked.depot.one(f"{ended} AND cleared_at IS NULL", today=MORNING.date()) == 0


def test_only_the_told_questions_are_open(worked: Worked) -> None:
    asked = worked.depot.rows("SELECT finding FROM questions ORDER BY finding")
    assert [row["finding"] for row in asked] == [
        "mark.check-digit",
        "mass.sum",
        "presence.missed-departure",
    ]


def test_histories_are_sound_and_records_are_what_they_add_up_to(worked: Worked) -> None:
    found = worked.today.verification
    assert found.flaws == ()
    assert found.rows > 2500
    rebuilt = rebuild(worked.depot.worker, check_only=True)
    assert rebuilt.units + rebuilt.orders == found.streams
    assert rebuilt.differing == []


def test_telling_says_every_verdict_and_names_commands_there_are(worked: Worked) -> None:
    hardstand = get_command(make_hardstand())
    assert isinstance(hardstand, TyperGroup)
    known = hardstand.commands.keys()
    for incident in worked.today.incidents:
        assert incident.title in worked.words
        for line in incident.look:
            assert f"$ {line}" in worked.words
            program, command, *_ = line.split()
            assert program == "hardstand"
            assert command in known
    assert "sale: refused" in worked.words
    assert "mass.sum" in worked.words


def test_people_of_the_day_can_sign_in_with_what_is_told(worked: Worked) -> None:
    people = sign_ins.make_sign_ins(worked.depot.web)
    assert [one.name for one in people] == ["gate", "workshop", "sales", "manager"]
    assert all(one.password in worked.words for one in people)
    manager = sign_in(worked.depot.web, "manager", people[-1].password, "127.0.0.1")
    assert manager.person.shown_as == house.MANAGER


def test_day_worked_through_again_changes_nothing(worked: Worked) -> None:
    before = counts(worked.depot)
    worked.clock.move(timedelta(hours=2))
    again = work_through(worked.depot, worked.clock)
    assert counts(again.depot) == before
    assert again.told.is_known
    assert "told again" in again.words
    assert again.today.verdicts == worked.today.verdicts
    assert again.today.verification == worked.today.verification


def test_house_with_units_of_its_own_is_refused(depot: Depot) -> None:
    depot.record(report("gate-in"))
    with pytest.raises(HouseInUseError):
        make_scenario(depot.web)


def test_scenario_of_another_day_has_other_events(depot: Depot, clock: StandingClock) -> None:
    first = make_scenario(depot.web)
    clock.move(timedelta(days=1))
    second = make_scenario(depot.web)
    assert not second.is_known
    ids = ({one.id for lot in told.lots for one in lot} for told in (first, second))
    assert next(ids).isdisjoint(next(ids))


@pytest.mark.parametrize("reading", MonthReading)
def test_examinations_fall_due_within_the_first_notice_on_any_day(reading: MonthReading) -> None:
    for days in range(366):
        today = date(2027, 1, 1) + timedelta(days=days)
        due = soon_due(today, reading)
        left = [(last_valid_day(month, reading) - today).days for month in due]
        assert len(left) == 3
        assert 0 <= min(left) <= 30
        assert max(left) <= 90


def test_every_part_is_played_to_its_end_on_any_day() -> None:
    wanted = {
        "fitted": "work-order",
        "kept": "reservation",
        "exported": "sale",
        "taken_back": "take-back",
        "not_found": "restow",
        "misplaced": "restow",
        "next_on_order": "acquisition",
        "short": "pre-advice",
    }
    for days in range(0, 366, 5):
        today = date(2027, 1, 1) + timedelta(days=days)
        chance = Random(days)  # noqa: S311 - invents, guards nothing
        cast = make_cast(Pen("any"), today, chance, MonthReading.STRICT, lambda _box: "0" * 64)
        last: dict[str, str] = {}
        for told in sorted(cast.reports, key=lambda one: one.received_at):
            said = orjson.loads(told.body)
            last[said.get("mark", "order")] = told.kind
        played = {part: last[getattr(cast.trade, part).mark] for part in wanted}
        assert played == wanted, today
        assert {last[box.mark] for box in cast.trade.collected} == {"gate-out"}, today
        assert last["order"] == "release", today
        assert {last[box.mark] for box in cast.to_examine} == {"reservation"}, today


def test_misread_number_is_never_sound() -> None:
    for serial in range(0, 10**6, 1999):
        right = make_mark(f"ZZTU{serial:06d}")
        assert not marks.is_sound(misread(right))


def test_ids_sort_as_they_were_written() -> None:
    pen = Pen("some seed")
    moments = [MORNING] * 300 + [MORNING + timedelta(seconds=1)] * 3
    ids = [pen.write("sighting", moment, {}).id for moment in moments]
    assert ids == sorted(set(ids))
    assert {one.version for one in ids} == {7}
    assert Pen("some seed").write("sighting", MORNING, {}).id == ids[0]
    assert Pen("another").write("sighting", MORNING, {}).id != ids[0]


def mails(worked: Worked) -> list[Any]:
    folder = worked.depot.web.settings.home / "mail"
    return [
        message_from_bytes(path.read_bytes(), policy=policy.default)
        for path in folder.glob("*.eml")
    ]


def counts(depot: Depot) -> dict[str, int]:
    tables = (
        *("history", "receipts", "records", "questions", "alerts", "outbox", "accounts"),
        *("alert_answers", "stock_checks", "orders"),
    )
    return {table: depot.one(f"SELECT count(*) FROM {table}") for table in tables}  # noqa: S608 - names above
