"""The manager's pages: a unit's line of time, any day of it, questions answered, the glance."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from shared.ids import new_id
from tests.support.depot import BOX, OTHER, id_of, marks_of, report
from tests.support.draining import draining
from tests.support.events import bad_digit
from tests.support.web import Site
from tracker.web.pages.answer_fields import fields_for, settlements_for

if TYPE_CHECKING:
    from starlette.testclient import TestClient

SUM = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
OFF = SUM | {"payload_kg": 28000}
LATER = "2026-03-02T07:30:00+00:00"


def question_of(site: Site, mark: str) -> str:
    (question,) = site.depot.show(mark).record["questions"]
    return str(question["id"])


def answer(client: TestClient, question: str, **fields: str) -> tuple[int, str]:
    said = {"form": str(new_id()), "kind": "answer", "depot": "NORTH", **fields}
    sent = client.post(f"/questions/{question}", data=said)
    if sent.status_code == 303:
        return 303, client.get(sent.headers["location"]).text
    return sent.status_code, sent.text


def test_misread_mark_is_answered_with_a_suggestion(site: Site) -> None:
    site.depot.record(report("pre-advice", BOX), report("gate-in", bad_digit(BOX)))
    client, asked = site.person("NORTH:gate"), question_of(site, bad_digit(BOX))
    page = client.get(f"/questions/{asked}").text
    assert re.findall(r'name="right_mark" value="(\w+)"', page)[0] == BOX
    with draining(site):
        status, page = answer(client, asked, settlement="value", right_mark=BOX)
    assert status == 303
    assert "Recorded." in page
    assert "No question is open" in page
    assert site.depot.show(BOX).record["presence"] == "in-depot"


def test_masses_are_answered_and_wrong_ones_come_back(site: Site) -> None:
    site.depot.record(report("gate-in", masses=OFF))
    client, asked = site.person("NORTH:manager"), question_of(site, BOX)
    assert 'value="28000"' in client.get(f"/questions/{asked}").text
    said = {f"masses.{name}:int": str(value) for name, value in SUM.items()}
    with draining(site):
        status, page = answer(
            client, asked, settlement="value", **said | {"masses.payload_kg:int": "28 100"}
        )
        assert status == 409
        assert "With these values it still cannot be right" in page
        status, page = answer(client, asked, settlement="value", **said)
    assert status == 303
    assert site.depot.show(BOX).record["payload_kg"] == 28250


ASKED = {
    "mark": lambda: [report("gate-in", bad_digit(BOX))],
    "masses": lambda: [report("gate-in", masses=OFF)],
    "happened_at": lambda: [report("gate-in", happened_at="2026-03-05T07:00:00+00:00")],
    "presence": lambda: [report("gate-in"), report("gate-in", happened_at=LATER)],
}


@pytest.mark.parametrize("about", ASKED)
def test_nothing_is_chosen_for_whoever_answers_so_that_a_tap_settles_nothing(
    site: Site, about: str
) -> None:
    for body in ASKED[about]():
        site.depot.record(body)
    client = site.person("NORTH:manager")
    asked = site.depot.one("SELECT id FROM questions")
    page = client.get(f"/questions/{asked}").text
    form = page[page.index(f'action="/questions/{asked}"') :]
    radios = re.findall(r'<input type="radio" name="settlement"[^>]*>', form)
    assert len(radios) >= 2
    assert all(" required" in one for one in radios)
    assert " checked" not in form
    # What a browser would send that is tapped on at once, and one that does not ask for `required`.
    named = dict(re.findall(r'<input (?:id="[^"]*" )?name="([^"]+)" value="([^"]*)"', form))
    with draining(site):
        status, page = answer(client, str(asked), **named)
    assert status == 422
    assert "Nothing was answered: choose how it is settled." in page
    assert site.depot.one("SELECT count(*) FROM questions") == 1


def test_question_of_another_depot_is_not_there(site: Site) -> None:
    site.depot.record(report("gate-in", masses=OFF))
    client, asked = site.person("SOUTH:manager"), question_of(site, BOX)
    assert client.get(f"/questions/{asked}").status_code == 404
    assert "No question is open" in client.get("/questions").text
    assert answer(client, asked, settlement="withdrawn")[0] == 403


@pytest.mark.parametrize(
    "field",
    ["mark", "masses.payload_kg", "size_type", "plate.next_examination", "happened_at", "presence"],
)
def test_every_question_can_be_settled(field: str) -> None:
    ways = [settlement for settlement, _ in settlements_for(field)]
    assert "withdrawn" in ways
    assert ("value" in ways) == bool(fields_for(field, {}))


def test_breach_and_question_stand_on_the_page_and_move_the_state(site: Site) -> None:
    client = site.person("NORTH:manager")
    before = client.get("/live").json()
    site.depot.record(report("gate-in"), report("gate-out"))
    after = client.get("/live").json()
    assert (before["breaches"], after["breaches"]) == (0, 1)
    assert before["state"] != after["state"]
    page = client.get("/questions").text
    assert "it happened, and should not have" in page
    assert BOX in page


def test_questions_go_on_where_the_page_ended(site: Site) -> None:
    marks = marks_of(35)
    site.depot.record(*(report("gate-in", mark, masses=OFF) for mark in marks))
    client = site.person("NORTH:manager")
    first = client.get("/questions").text
    link = re.search(r'rel="next" href="([^"]+)"', first)
    assert link is not None
    second = client.get(link.group(1).replace("&amp;", "&")).text
    found = [re.findall(r'class="mark" href="[^"]*">(\w{11})<', page) for page in (first, second)]
    assert [len(one) for one in found] == [30, 5]
    assert sorted(found[0] + found[1]) == sorted(marks)


@pytest.mark.parametrize(
    "path",
    ["/questions?after=x", "/alerts?after=x~y", "/stock?after=x", f"/units/{BOX}?as_of=noon"],
)
def test_what_is_no_place_or_moment_is_told_so(site: Site, path: str) -> None:
    site.depot.record(report("gate-in"))
    answered = site.person("*:manager").get(path, headers={"Accept": "text/html"})
    assert answered.status_code == 400
    assert "<h1>" in answered.text


@pytest.fixture
def past(site: Site) -> Site:
    """A box that came in, was graded wrong, put right a day later, and sold."""
    clock = site.depot.web.clock
    seen = report(
        "inspection", condition="as-is", happened_at="2026-03-02T07:30:00Z", note="rust at the sill"
    )
    site.depot.record(report("gate-in", happened_at="2026-03-02T06:00:00Z", masses=SUM), seen)
    clock.move(timedelta(days=1))
    site.depot.record(
        report(
            "correction", None, corrects=id_of(seen), reason="wrong line",
            changes={"condition": "cargo-worthy"}, happened_at="2026-03-03T08:00:00Z",
        )
    )  # fmt: skip
    clock.move(timedelta(days=1))
    site.depot.record(report("sale", happened_at="2026-03-04T08:00:00Z"))
    return site


def test_line_of_time_says_who_when_what_and_what_was_corrected(past: Site) -> None:
    page = past.person("NORTH:manager").get(f"/units/{BOX}").text
    kinds = re.findall(r'<p class="what">(\w[\w ]*\w)', page)
    assert kinds == ["Sold", "Corrected", "Looked at", "Came in"]
    assert "by Ada Quill, NORTH" in page
    assert "2 Mar 2026, 06:00" in page
    assert "rust at the sill" in page
    assert "This stands otherwise now" in page
    assert "/interchange.pdf" in page


@pytest.mark.parametrize(
    ("when", "condition", "kinds"),
    [
        ("as_of=2026-03-02T06:30", "not decided", ["Corrected", "Came in"]),
        ("as_of=2026-03-02T12:00", "cargo worthy", ["Corrected", "Looked at", "Came in"]),
        ("known_at=2026-03-02T12:00", "as it is", ["Looked at", "Came in"]),
        (
            "as_of=2026-03-03&known_at=2026-03-03",
            "cargo worthy",
            ["Corrected", "Looked at", "Came in"],
        ),
    ],
)
def test_any_day_of_the_past_is_shown(
    past: Site, when: str, condition: str, kinds: list[str]
) -> None:
    page = past.person("NORTH:manager").get(f"/units/{BOX}?{when}").text
    assert re.findall(r'<p class="what">(\w[\w ]*\w)', page) == kinds
    found = re.search(r"<dt>Condition</dt><dd>([^<,]+)", page)
    assert found is not None
    assert found.group(1) == condition
    assert "The past." in page


def test_glance_draws_what_its_tables_say(site: Site) -> None:
    site.depot.record(
        *(
            report(
                "gate-in",
                mark,
                size_type="22G1",
                plate={"manufactured_in": "2020-01", "next_examination": "2026-06"},
            )
            for mark in marks_of(3)
        ),
        report("gate-in", OTHER, size_type="45G1"),
        report("inspection", OTHER, condition="cargo-worthy"),
        report("gate-out", marks_of(3)[0], happened_at="2026-03-02T07:30:00Z"),
        report("gate-in", BOX, depot="SOUTH"),
    )
    page = site.person("NORTH:manager").get("/stock/glance").text
    rows = dict(
        re.findall(r'<tr><th scope="row">([^<]+)</th>((?:<td class="number">[\d,]+</td>)+)', page)
    )
    numbers = {
        label: [int(one) for one in re.findall(r">(\d+)<", cells)] for label, cells in rows.items()
    }
    assert numbers["20 ft"] == [0, 0, 0, 0, 2]
    assert numbers["40 ft high"] == [1, 0, 0, 0, 0]
    assert numbers["up to 2 weeks"] == [3]
    assert numbers["Jun 2026"] == [2]
    assert numbers["2 Mar"] == [4, 1]
    assert len(re.findall("<svg", page)) == 4
    assert "<b>3</b> units here" in page


def test_withdrawn_arrival_is_not_counted_at_the_gate(site: Site) -> None:
    came = report("gate-in", OTHER)
    site.depot.record(report("gate-in", BOX), came)
    site.depot.record(report("correction", None, corrects=id_of(came), withdrawn=True))
    page = site.person("NORTH:manager").get("/stock/glance").text
    assert re.search(
        r'<th scope="row">2 Mar</th><td class="number">1</td><td class="number">0</td>', page
    )
