from datetime import timedelta

import pytest

from shared.clock import StandingClock
from tests.support.depot import BOX, OTHER, Depot, findings_of, id_of, report
from tests.support.marks import make_mark
from tracker.services.unit_view import UnitUnknownError

NEW_MARK = make_mark("ZZZU300077")


def test_unit_is_found_by_any_mark_it_ever_bore_by_tag_and_by_id(depot: Depot) -> None:
    depot.record(
        report("gate-in", tag="T-7"), report("marking", action="re-marked", new_mark=NEW_MARK)
    )
    names = [BOX, f" {BOX[:4].lower()} {BOX[4:10]}-{BOX[10]}", NEW_MARK, "#NORTH/T-7"]
    names.append(str(depot.unit_id()))
    shown = [depot.show(name) for name in names]
    assert {view.unit_id for view in shown} == {depot.unit_id()}
    assert shown[0].record["mark"] == NEW_MARK
    assert [one["mark"] for one in shown[0].record["marks"]] == [BOX, NEW_MARK]


@pytest.mark.parametrize(
    "name", ["", " ", OTHER, "#NORTH/T-9", "0196f7a0-0000-7000-8000-000000000001", "'; --"]
)
def test_name_nobody_bears_is_unknown(depot: Depot, name: str) -> None:
    depot.record(report("gate-in"))
    with pytest.raises(UnitUnknownError) as fault:
        depot.show(name)
    assert fault.value.name == name


def test_people_are_named_in_the_view_and_nowhere_in_the_history(depot: Depot) -> None:
    depot.record(report("gate-in", driver="Brin Okuma", note="Brin knows"), report("sale"))
    shown = depot.show()
    assert shown.history[0]["reported_by"] == "Ada Quill"
    assert shown.history[0]["event"]["driver"] == "Brin Okuma"
    assert shown.history[0]["event"]["note"] == "Brin knows"
    assert shown.record["sale"]["buyer"] == "Orin Vale"
    kept = str(depot.rows("SELECT body::text FROM history UNION SELECT body::text FROM records"))
    for name in ("Ada", "Brin", "Orin"):
        assert name not in kept


def test_view_holds_what_the_command_line_promises(depot: Depot) -> None:
    masses = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}
    depot.record(report("gate-in", size_type="22G1", masses=masses))
    shown = depot.show()
    promised = (
        "mark marks presence depot slot size_type gross_kg tare_kg payload_kg next_examination"
        " approval condition fittings sale questions alerts"
    )
    assert set(promised.split()) <= shown.record.keys()
    row = shown.history[0]
    assert {"seq", "id", "kind", "happened_at", "recorded_at", "reported_by"} <= row.keys()
    assert "mass.sum" in {finding["id"] for finding in row["findings"]}
    assert shown.record["gross_kg"] is None
    assert [question["finding"] for question in shown.record["questions"]] == ["mass.sum"]
    assert len(row["digest"]) == 64


def test_waiting_and_held_events_stand_apart(depot: Depot) -> None:
    depot.record(report("gate-in"))
    held, waiting = report("restow"), report("sale")
    depot.send(held)
    depot.change("UPDATE intake SET body = '{}'")
    depot.drain_all()
    depot.send(waiting, report("restow", OTHER))
    apart = depot.show().apart
    assert [one["id"] for one in apart] == [id_of(held), id_of(waiting)]
    assert [one["state"] for one in apart] == ["held", "waiting"]
    assert apart[0]["error"]
    assert [one["kind"] for one in apart] == [None, "sale"]


def test_record_as_of_a_moment_and_as_known_at_one(depot: Depot, clock: StandingClock) -> None:
    depot.record(report("gate-in", happened_at="2026-03-02T07:00:00+00:00"))
    first_known = clock.now()
    clock.move(timedelta(hours=2))
    depot.record(report("gate-out", purpose="scrap", happened_at="2026-03-02T09:30:00+00:00"))
    at = first_known.replace
    assert depot.show().record["presence"] == "away"
    assert depot.show(as_of=at(hour=9)).record["presence"] == "in-depot"
    assert depot.show(as_of=at(hour=9, minute=30)).record["presence"] == "away"
    assert depot.show(known_at=first_known).record["presence"] == "in-depot"
    assert [row["kind"] for row in depot.show(known_at=first_known).history] == ["gate-in"]
    with pytest.raises(UnitUnknownError):
        depot.show(known_at=first_known - timedelta(seconds=1))


def test_correction_takes_the_place_of_what_it_corrects_in_all_views_that_know_it(
    depot: Depot, clock: StandingClock
) -> None:
    wrong = report("restow", slot="A1", happened_at="2026-03-02T07:10:00+00:00")
    depot.record(report("gate-in"), wrong)
    known = clock.now()
    clock.move(timedelta(hours=1))
    (done,) = depot.record(
        report("correction", None, corrects=id_of(wrong), changes={"slot": "B2"})
    )
    assert (done.state, findings_of(done)) == ("recorded", [])
    then = known.replace(hour=7, minute=30)
    assert depot.show().record["slot"] == "B2"
    assert depot.show(as_of=then).record["slot"] == "B2"
    assert depot.show(as_of=then, known_at=known).record["slot"] == "A1"
    assert depot.show().history[1]["event"]["slot"] == "A1"
