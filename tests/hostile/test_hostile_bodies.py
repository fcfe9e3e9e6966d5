"""Bodies that mean harm: each is answered in words, none spoils what comes beside it."""

from __future__ import annotations

import gc
import gzip
import re
import warnings
from typing import TYPE_CHECKING

import orjson
import pytest

from tests.support.depot import BOX, OTHER, id_of, open_up, report
from tests.support.draining import draining
from tests.support.web import Site, open_site
from tracker.services.actor import Scope
from tracker.web.api.downloads import csv_answer
from tracker.web.api.papers import pdf_answer
from tracker.web.limits import LARGEST_BODY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.clock import StandingClock
    from shared.settings import Settings


@pytest.fixture
def site(settings: Settings, clock: StandingClock) -> Iterator[Site]:
    with open_up(settings, clock) as depot, open_site(depot) as site:
        yield site


DEEP = b'{"a":' * 300 + b"1" + b"}" * 300
UNREADABLE = {
    "NUL in an id": report("gate-in", id="\x00" + "0" * 31),
    "NUL in a month": report("examination", plate={"manufactured": "2020-\x0001"}),
    "NUL in a kind": report("gate-in\x00"),
    "NUL in a text": report("gate-in", reported_by="Ada\x00Quill"),
    "NUL in a field's name": report("gate-in", **{"a\x00b": 1}),
    "NUL behind the end": report("gate-in") + b"\x00",
    "lone surrogate": report("gate-in").replace(b"Ada Quill", b"\\ud800"),
    "no UTF-8": report("gate-in").replace(b"Ada Quill", b"\xff\xfe"),
    "UTF-16": report("gate-in").decode().encode("utf-16"),
    "nested deep": DEEP,
    "nested deep in a field": report("gate-in")[:-1] + b',"masses":' + DEEP + b"}",
    "number of 5,000 digits": report("gate-in")[:-1] + b',"schema_version":' + b"9" * 5000 + b"}",
    "number beyond all": report("gate-in")[:-1] + b',"schema_version":1e999}',
    "not a number": report("gate-in")[:-1] + b',"schema_version":NaN}',
    "moment beyond time": report("gate-in", happened_at="9999-12-31T23:59:59-14:00"),
    "text too long": report("gate-in", reported_by="A" * 100_000),
}


@pytest.mark.parametrize("body", UNREADABLE.values(), ids=UNREADABLE.keys())
def test_hostile_event_is_held_and_spoils_nothing_beside_it(site: Site, body: bytes) -> None:
    good = [report("gate-in"), report("gate-in", OTHER)]
    machine = site.machine(Scope.REPORT, Scope.READ)
    answer = machine.post("/api/events", content=body)
    assert (answer.status_code, answer.json()["state"]) == (200, "held")
    assert answer.json()["error"].isprintable()
    listed = machine.post("/api/events", content=b"[" + b",".join([good[0], body, good[1]]) + b"]")
    if listed.status_code == 400:  # what takes the list itself apart is refused whole, in words
        assert listed.json()["detail"].isprintable()
        return
    assert [one["state"] for one in listed.json()] == ["waiting", "held", "waiting"]
    site.depot.drain_all()
    assert site.depot.outcomes() == {id_of(one): "recorded" for one in good}


@pytest.mark.parametrize("body", UNREADABLE.values(), ids=UNREADABLE.keys())
def test_hostile_event_of_a_person_is_held_too(site: Site, body: bytes) -> None:
    answer = site.person("NORTH:gate").post("/api/events", content=body)
    assert answer.status_code in {200, 202}
    if answer.status_code == 202:  # who reports is not what the body says, so that was mended
        assert body in (UNREADABLE["NUL in a text"], UNREADABLE["text too long"])


def test_body_beyond_the_limit_is_refused_and_nothing_is_kept(site: Site) -> None:
    body = b"[" + b" " * LARGEST_BODY + report("gate-in") + b"]"
    answer = site.machine(Scope.REPORT).post("/api/events", content=body)
    assert answer.status_code == 413
    assert site.depot.one("SELECT count(*) FROM intake") == 0


def test_field_said_twice_is_read_once_and_digested_as_read(site: Site) -> None:
    once = report("gate-in")
    twice = b'{"mark":"' + OTHER.encode() + b'",' + once[1:]
    machine = site.machine(Scope.REPORT)
    assert machine.post("/api/events", content=twice).json()["state"] == "waiting"
    # The last one counts, as in the same event said once: no two readers see two events.
    again = machine.post("/api/events", content=once).json()
    assert (again["state"], again["again"]) == ("waiting", True)
    kept = site.depot.one("SELECT body::text FROM intake")
    assert kept.count('"mark"') == 1
    assert orjson.loads(kept)["mark"] == BOX


def test_right_to_left_and_formula_are_kept_as_written(site: Site) -> None:
    said = "\u202egnihton\u200f =1+1"
    site.depot.record(report("gate-in", reported_by=said))
    shown = site.machine(Scope.READ).get(f"/api/units/{BOX}").json()
    assert shown["history"][0]["reported_by"] == said


@pytest.mark.parametrize("coding", ["gzip", "deflate", "br", "zstd", "identity, gzip"])
def test_body_that_would_unpack_to_very_much_is_never_unpacked(site: Site, coding: str) -> None:
    bomb = gzip.compress(b"[" + b" " * 50_000_000 + b"]")
    machine = site.machine(Scope.REPORT)
    answer = machine.post("/api/events", content=bomb, headers={"Content-Encoding": coding})
    # Taken as the bytes they are, which are no event.
    assert (answer.status_code, answer.json()["state"]) == (200, "held")
    assert site.depot.one("SELECT max(length(body)) FROM unreadable") == len(bomb)


@pytest.mark.parametrize(
    "name",
    [
        'a"; filename="b.exe',
        "a\r\nSet-Cookie: hardstand_session=x",
        "../../etc/passwd",
        "C:\\boot",
        "\u202efdp.exe",
        "",
    ],
)
def test_name_to_save_a_paper_by_holds_letters_and_digits_only(name: str) -> None:
    for answer in (pdf_answer(b"%PDF", name, "pack"), csv_answer([b"a"], name)):
        said = answer.headers["content-disposition"]
        assert re.fullmatch(r'(inline|attachment); filename="[-A-Za-z0-9]*\.(pdf|csv)"', said)
        assert set(answer.headers) <= {
            "content-disposition",
            "content-length",
            "content-type",
            "cache-control",
        }


CODED = (
    "%00",
    "%2e%2e%2f%2e%2e%2fetc%2fpasswd",
    "..%5c..%5cboot.ini",
    "%ff",
    "%ed%a0%80",
    "%0d%0a",
)
PLACES = (
    "/api/units/{}",
    "/api/units/{}/pack.json",
    "/api/units/{}/may-leave",
    "/api/photos/{}",
    "/api/events/{}",
    "/api/events/{}/interchange.pdf",
    "/static/{}",
    "/{}",
)


@pytest.mark.parametrize("place", PLACES)
def test_tricks_in_a_path_find_nothing(site: Site, place: str) -> None:
    reader = site.machine(Scope.READ, Scope.REPORT)
    statuses = {coded: reader.get(place.format(coded)).status_code for coded in CODED}
    assert {coded: status for coded, status in statuses.items() if status not in {404, 422}} == {}


BEYOND = {
    "/api/stock": {"size": (0, 1001, -1, "9" * 40, "1e3", "\u0661"), "after": ("a" * 121, "\x00")},
    "/api/questions": {"size": (0, 1001, -1, "9" * 40)},
    "/api/alerts": {"size": (0, 1001, -1, "9" * 40), "depot": ("A" * 41, "\x00")},
    "/api/check": {"mark": ("A" * 41, "\x00"), "gross_kg": (-1, 1_000_000, "9" * 40, "1.5")},
    f"/api/units/{BOX}": {"as_of": ("0001-01-01T00:00:00+14:00", "2026-03-02T08:00:00", "1e300")},
    "/api/events/0190b5a0-0000-7000-8000-000000000000": {"wait": (-1, 61, "nan", "inf", "1e999")},
    "/api/photos/" + "0" * 64: {"size": ("640", "../original", "")},
}


@pytest.mark.parametrize("path", BEYOND)
def test_every_bound_of_a_query_holds(site: Site, path: str) -> None:
    site.depot.record(report("gate-in"))
    client = site.machine(Scope.READ, Scope.REPORT)
    taken = {
        f"{name}={value}": status
        for name, values in BEYOND[path].items()
        for value in values
        if (status := client.get(path, params={name: value}).status_code) not in {400, 422}
    }
    assert taken == {}


FORMS = {
    "text and group": "mark=1&mark.a=2",
    "digit of another script": "damages.%C2%B2=x&damages.1=y",
    "needs of a number": "!damages=kind&damages.0:int=5",
    "list and text": "photos=1&photos:list=2",
    "deep": ".".join("a" * 3000) + "=1",
    "long number": "masses.tare_kg:int=" + "9" * 5000,
    "no UTF-8": "mark=%FF%FE",
    "NUL": "mark=%00",
    "repair of nothing": "kind=repair&depot=NORTH&mark=%00&photos.x=1",
    "no fields": "",
    "two thousand fields": "&".join(f"a{number}=1" for number in range(2000)),
}


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS.keys())
def test_hostile_form_is_answered_in_words(site: Site, form: str) -> None:
    person = site.person("NORTH:gate", "NORTH:manager", "NORTH:workshop")
    headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "text/html"}
    pages = ("/gate/arrival", "/gate/departure", "/workshop/unit", "/workshop/inspection")
    statuses = {
        page: person.post(page, content=form, headers=headers).status_code for page in pages
    }
    assert {page: status for page, status in statuses.items() if not 400 <= status < 500} == {}


DEAL = f"/sales/deal?unit={BOX}"
MISSHAPEN = {
    "moment of parts": (DEAL, "kind=reservation&until.a=1"),
    "moment as a number": (DEAL, "kind=reservation&until:int=5"),
    "work of parts": (DEAL, "kind=work-order&lines.0.work.a=1"),
    "line by a name": (DEAL, "kind=sale&lines.a=1"),
    "line of a text": (DEAL, "kind=sale&lines.0=x&lines.1.what=roof"),
    "lines as a number": (DEAL, "kind=work-order&lines:int=5"),
    "kind of parts": ("/corrections/{event}", "reason=misread&kind.a=1"),
    "kind of several": ("/corrections/{event}", "reason=misread&kind:list=1"),
    "clearance of nothing": ("/gate/departure", "kind=clearance&depot=NORTH"),
    "inspection of signs": (
        "/workshop/inspection",
        "kind=inspection&depot=NORTH&found.a=x",
    ),
}


@pytest.mark.parametrize(("page", "form"), MISSHAPEN.values(), ids=MISSHAPEN)
def test_form_whose_fields_have_another_shape_comes_back_in_words(
    site: Site, page: str, form: str
) -> None:
    arrival = report("gate-in")
    site.depot.record(arrival)
    person = site.person("NORTH:gate", "NORTH:manager", "NORTH:workshop", "NORTH:sales")
    headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "text/html"}
    with draining(site):
        sent = person.post(page.format(event=id_of(arrival)), content=form, headers=headers)
    assert 400 <= sent.status_code < 500
    assert re.search(r'role="alert"|urn:uuid:', sent.text)


def test_file_that_nobody_asked_for_is_closed_when_the_form_is_answered(site: Site) -> None:
    site.depot.record(report("gate-in"))
    person = site.person("NORTH:sales")
    gc.collect()
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        sent = person.post(DEAL, data={"kind": "x"}, files={"a": ("a", b"0" * 2_000_000)})
        gc.collect()
    assert sent.status_code == 422
    assert [str(one.message) for one in told if one.category is ResourceWarning] == []
